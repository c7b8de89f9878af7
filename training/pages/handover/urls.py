from django.urls import path

from training.pages.handover import answering, beside, leaving, offering, packet, taking_over

urlpatterns = [
    path("families/<uuid:family>/offer-new/", offering.OfferFamily.as_view(), name="offer-new"),
    path(
        "families/<uuid:family>/offers/<uuid:offer>/withdraw/", offering.WithdrawOffer.as_view(), name="offer-withdraw"
    ),
    path("offers/", answering.Offers.as_view(), name="offers"),
    path("offers/<uuid:offer>/", answering.OfferPage.as_view(), name="offer"),
    path("offers/<uuid:offer>/accept/", answering.AcceptOffer.as_view(), name="offer-accept"),
    path("offers/<uuid:offer>/decline/", answering.DeclineOffer.as_view(), name="offer-decline"),
    path("handover-code/", answering.Code.as_view(), name="handover-code"),
    path("families/<uuid:family>/handover/", taking_over.HandoverPage.as_view(), name="handover"),
    path("families/<uuid:family>/handover/care-plan/", taking_over.HandedCarePlan.as_view(), name="handover-care-plan"),
    path(
        "families/<uuid:family>/handover/people/<uuid:caregiver>/skills/<str:skill>/",
        taking_over.TakeOver.as_view(),
        name="handover-take-over",
    ),
    path("families/<uuid:family>/handover/records/", beside.HandoverRecords.as_view(), name="handover-records"),
    path(
        "families/<uuid:family>/handover/records/<int:number>/", beside.HandoverRecord.as_view(), name="handover-record"
    ),
    path("families/<uuid:family>/handover/file/", beside.HandoverFile.as_view(), name="handover-file"),
    path("families/<uuid:family>/handover-packet.pdf", packet.HandoverPacket.as_view(), name="handover-packet"),
    path("families/<uuid:family>/handover/packet.pdf", packet.ReceivedPacket.as_view(), name="handover-received"),
    path("families/<uuid:family>/closing-new/", leaving.CloseFamily.as_view(), name="closing-new"),
    path("families/<uuid:family>/reopening-new/", leaving.ReopenFamily.as_view(), name="reopening-new"),
    path(
        "families/<uuid:family>/outside-evidence-new/",
        leaving.NewOutsideEvidence.as_view(),
        name="outside-evidence-new",
    ),
]
