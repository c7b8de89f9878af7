"""Every address of the site, room by room."""

from django.urls import include, path

urlpatterns = [
    path("", include("training.pages.entry.urls")),
    path("", include("training.pages.family.urls")),
    path("", include("training.pages.recording.urls")),
    path("", include("training.pages.bedside.urls")),
    path("", include("training.pages.board.urls")),
    path("", include("training.pages.asking.urls")),
    path("", include("training.pages.map.urls")),
    path("", include("training.pages.curriculum.urls")),
    path("", include("training.pages.caregiver.urls")),
    path("", include("training.pages.joining.urls")),
    path("", include("training.pages.setup.urls")),
    path("", include("training.pages.assigning.urls")),
    path("", include("training.pages.log.urls")),
    path("", include("training.pages.handover.urls")),
]
