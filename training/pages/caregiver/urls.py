from django.urls import path

from training.pages.caregiver import saying, views

urlpatterns = [
    path("mine/", views.Mine.as_view(), name="mine"),
    path("mine/<uuid:caregiver>/", views.OwnFamily.as_view(), name="mine-family"),
    path("mine/<uuid:caregiver>/records/", saying.OwnRecords.as_view(), name="mine-records"),
    path("mine/<uuid:caregiver>/records/<int:number>/say/", saying.SaySomething.as_view(), name="mine-say"),
    path("mine/<uuid:caregiver>/<str:skill>/sign/", views.OwnYes.as_view(), name="mine-sign"),
]
