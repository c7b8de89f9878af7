from django.urls import path

from training.pages.joining import views

urlpatterns = [
    path("join/", views.TypeCode.as_view(), name="join"),
    path("join/you/", views.WhoYouAre.as_view(), name="join-you"),
    path("join/new/", views.NewAccount.as_view(), name="join-new"),
    path("join/have/", views.HaveAccount.as_view(), name="join-have"),
]
