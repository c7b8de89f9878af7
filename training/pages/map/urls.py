from django.urls import path

from training.pages.map import views

urlpatterns = [
    path("checklists/<uuid:programme>/map/", views.ProgrammeMap.as_view(), name="programme-map"),
    path("families/<uuid:family>/people/<uuid:caregiver>/map/", views.CaregiverMap.as_view(), name="caregiver-map"),
    path("mine/<uuid:caregiver>/map/", views.OwnMap.as_view(), name="mine-map"),
]
