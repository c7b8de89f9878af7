from django.urls import path

from training.pages.asking import views

urlpatterns = [
    path("questions/", views.Questions.as_view(), name="questions"),
    path("questions/<slug:question>/", views.Answered.as_view(), name="answered"),
]
