"""The site's addresses are all in `training.pages.urls`."""

from django.urls import include, path

urlpatterns = [path("", include("training.pages.urls"))]
handler500 = "training.pages.cannot_save.stopped_half_way"
