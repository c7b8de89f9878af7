from django.urls import path

from competency.records import Take
from training.pages.recording import blank_checklist, second, signing, starting, steps, together, transcribing

urlpatterns = [
    path(
        "families/<uuid:family>/people/<uuid:caregiver>/skills/<str:skill>/start/",
        starting.Start.as_view(),
        name="start",
    ),
    path(
        "families/<uuid:family>/people/<uuid:caregiver>/skills/<str:skill>/checklist.pdf",
        blank_checklist.BlankChecklist.as_view(),
        name="blank-checklist",
    ),
    path(
        "families/<uuid:family>/people/<uuid:caregiver>/skills/<str:skill>/editions/<int:edition>/paper/",
        transcribing.Transcribe.as_view(),
        name="transcribe",
    ),
    path("families/<uuid:family>/drafts/sign/", together.SignTogether.as_view(), name="drafts-sign"),
    path("drafts/<uuid:draft>/", signing.Outcome.as_view(), name="draft"),
    path("drafts/<uuid:draft>/step/<int:place>/", steps.Step.as_view(), name="draft-step"),
    path("drafts/<uuid:draft>/rest/", steps.Rest.as_view(), name="draft-rest"),
    path("drafts/<uuid:draft>/second/", second.Second.as_view(), name="draft-second"),
    path(
        "drafts/<uuid:draft>/second/step/<int:place>/",
        steps.Step.as_view(whose=Take.SECOND),
        name="draft-second-step",
    ),
    path("drafts/<uuid:draft>/second/rest/", steps.Rest.as_view(whose=Take.SECOND), name="draft-second-rest"),
    path("drafts/<uuid:draft>/stop/", steps.Stop.as_view(), name="draft-stop"),
    path("drafts/<uuid:draft>/sign/", signing.Sign.as_view(), name="draft-sign"),
    path("drafts/<uuid:draft>/discard/", signing.Discard.as_view(), name="draft-discard"),
]
