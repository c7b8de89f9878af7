from django.urls import path

from training.pages.caregiver import papers, saying, touches, views

urlpatterns = [
    path("mine/", views.Mine.as_view(), name="mine"),
    path("mine/<uuid:caregiver>/", views.OwnFamily.as_view(), name="mine-family"),
    path("mine/<uuid:caregiver>/records/", saying.OwnRecords.as_view(), name="mine-records"),
    path("mine/<uuid:caregiver>/records/<int:number>/say/", saying.SaySomething.as_view(), name="mine-say"),
    path("mine/<uuid:caregiver>/pause/", touches.NeedPause.as_view(), name="mine-pause"),
    path("mine/<uuid:caregiver>/pause/ready/", touches.ReadyToGoOn.as_view(), name="mine-go-on"),
    path("mine/<uuid:caregiver>/card/", touches.TellCard.as_view(), name="mine-card"),
    path("mine/<uuid:caregiver>/kit/", touches.CheckKit.as_view(), name="mine-kit"),
    path("mine/<uuid:caregiver>/agree/", touches.Agree.as_view(), name="mine-agree"),
    path("mine/<uuid:caregiver>/emergency-sheet.pdf", papers.OwnEmergencySheet.as_view(), name="mine-emergency-sheet"),
    path("mine/<uuid:caregiver>/remaining-skills.pdf", papers.OwnRemaining.as_view(), name="mine-remaining-skills"),
    path("mine/<uuid:caregiver>/<str:skill>/sign/", views.OwnYes.as_view(), name="mine-sign"),
]
