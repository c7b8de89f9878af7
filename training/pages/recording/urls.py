from django.urls import path

from training.pages.recording import signing, starting, steps

urlpatterns = [
    path(
        "families/<uuid:family>/people/<uuid:caregiver>/skills/<str:skill>/start/",
        starting.Start.as_view(),
        name="start",
    ),
    path("drafts/<uuid:draft>/", signing.Outcome.as_view(), name="draft"),
    path("drafts/<uuid:draft>/step/<int:place>/", steps.Step.as_view(), name="draft-step"),
    path("drafts/<uuid:draft>/rest/", steps.Rest.as_view(), name="draft-rest"),
    path("drafts/<uuid:draft>/stop/", steps.Stop.as_view(), name="draft-stop"),
    path("drafts/<uuid:draft>/sign/", signing.Sign.as_view(), name="draft-sign"),
    path("drafts/<uuid:draft>/discard/", signing.Discard.as_view(), name="draft-discard"),
]
