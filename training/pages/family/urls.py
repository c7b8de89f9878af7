from django.urls import path

from training.pages.family import export_view, packet_view, papers, record_views, survey_view, views

urlpatterns = [
    path("families/", views.Families.as_view(), name="families"),
    path("families/<uuid:family>/", views.FamilyPage.as_view(), name="family"),
    path("families/<uuid:family>/people/<uuid:caregiver>/skills/<str:skill>/", views.SkillPage.as_view(), name="skill"),
    path("families/<uuid:family>/records/", record_views.Records.as_view(), name="records"),
    path("families/<uuid:family>/records/<int:number>/", record_views.RecordPage.as_view(), name="record"),
    path("families/<uuid:family>/record.jsonl", export_view.ExportFamily.as_view(), name="family-export"),
    path("families/<uuid:family>/packet.pdf", packet_view.PacketPdf.as_view(), name="packet"),
    path("families/<uuid:family>/family-copy.pdf", papers.FamilyCopyPdf.as_view(), name="family-copy"),
    path("families/<uuid:family>/emergency-sheet.pdf", papers.EmergencySheetPdf.as_view(), name="emergency-sheet"),
    path(
        "families/<uuid:family>/people/<uuid:caregiver>/remaining-skills.pdf",
        papers.RemainingPdf.as_view(),
        name="remaining-skills",
    ),
    path(
        "families/<uuid:family>/people/<uuid:caregiver>/record.pdf",
        papers.CaregiverRecordPdf.as_view(),
        name="caregiver-record",
    ),
    path("families/<uuid:family>/survey.pdf", survey_view.SurveyPdf.as_view(), name="survey"),
    path("families/<uuid:family>/survey.zip", survey_view.SurveyZip.as_view(), name="survey-zip"),
]
