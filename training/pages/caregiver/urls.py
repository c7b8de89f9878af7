from django.urls import path

from training.pages.caregiver import views

urlpatterns = [
    path("mine/", views.Mine.as_view(), name="mine"),
    path("mine/<uuid:caregiver>/", views.OwnFamily.as_view(), name="mine-family"),
    path("mine/<uuid:caregiver>/<str:skill>/sign/", views.OwnYes.as_view(), name="mine-sign"),
]
