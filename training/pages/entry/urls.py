from django.urls import path

from training.pages.entry import views

urlpatterns = [
    path("", views.Home.as_view(), name="home"),
    path("sign-in/", views.SignIn.as_view(), name="sign-in"),
    path("sign-out/", views.SignOut.as_view(), name="sign-out"),
    path("place/", views.ChoosePlace.as_view(), name="place"),
]
