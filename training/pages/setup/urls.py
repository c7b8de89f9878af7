from django.urls import path

from training.pages.setup import about_record, care_plan, decisions, entries, family, members, people, qualifying

urlpatterns = [
    path("families/new/", family.NewFamily.as_view(), name="family-new"),
    path("families/<uuid:family>/edit/", family.EditFamily.as_view(), name="family-edit"),
    path("families/<uuid:family>/people/new/", people.NewCaregiver.as_view(), name="caregiver-new"),
    path("families/<uuid:family>/people/<uuid:caregiver>/edit/", people.EditCaregiver.as_view(), name="caregiver-edit"),
    path("families/<uuid:family>/care-plan-new/", care_plan.NewCarePlan.as_view(), name="care-plan-new"),
    path("families/<uuid:family>/authorisation-new/", entries.NewAuthorisation.as_view(), name="authorisation-new"),
    path("families/<uuid:family>/item-new/", entries.NewItem.as_view(), name="item-new"),
    path("families/<uuid:family>/certificate-new/", entries.NewCertificate.as_view(), name="certificate-new"),
    path("families/<uuid:family>/signature-new/", entries.NewSignature.as_view(), name="signature-new"),
    path("families/<uuid:family>/exception-new/", decisions.NewException.as_view(), name="exception-new"),
    path("families/<uuid:family>/hold-new/", decisions.NewHold.as_view(), name="hold-new"),
    path("families/<uuid:family>/recheck-new/", decisions.NewRecheck.as_view(), name="recheck-new"),
    path("families/<uuid:family>/withdrawal-new/", decisions.NewWithdrawal.as_view(), name="withdrawal-new"),
    path("families/<uuid:family>/accepted-new/", decisions.NewAccepted.as_view(), name="accepted-new"),
    path("families/<uuid:family>/records/<int:number>/void-new/", about_record.VoidRecord.as_view(), name="void-new"),
    path(
        "families/<uuid:family>/records/<int:number>/resolution-new/",
        about_record.ResolveRecord.as_view(),
        name="resolution-new",
    ),
    path(
        "families/<uuid:family>/records/<int:number>/override-new/",
        about_record.OverrideRecord.as_view(),
        name="override-new",
    ),
    path("members/", members.Members.as_view(), name="members"),
    path("members/new/", members.NewMember.as_view(), name="member-new"),
    path("members/<uuid:member>/", members.EditMember.as_view(), name="member-edit"),
    path("members/<uuid:member>/qualify/", qualifying.Qualify.as_view(), name="qualify"),
]
