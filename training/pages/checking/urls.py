from django.urls import path

from training.pages.checking import views

urlpatterns = [
    path("check/", views.CheckDocument.as_view(), name="check"),
    path("check/<str:number>/", views.CheckNumber.as_view(), name="check-number"),
]
