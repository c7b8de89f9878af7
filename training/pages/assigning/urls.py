from django.urls import path

from training.pages.assigning import views

urlpatterns = [
    path("families/<uuid:family>/who-works-with-them/", views.WhoWorks.as_view(), name="who-works"),
    path("families/open-now/", views.OpenNow.as_view(), name="open-now"),
    path("members/who-sees-which-families/", views.WhoSees.as_view(), name="who-sees"),
]
