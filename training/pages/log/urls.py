from django.urls import path

from training.pages.log import views

urlpatterns = [
    path("log/", views.Log.as_view(), name="log"),
    path("log/log.csv", views.LogCsv.as_view(), name="log-csv"),
]
