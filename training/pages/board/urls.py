from django.urls import path

from training.pages.board import curriculum, views

urlpatterns = [
    path("board/", views.Board.as_view(), name="board"),
    path("checklists/", curriculum.Programmes.as_view(), name="programmes"),
    path("checklists/<uuid:programme>/", curriculum.ProgrammePage.as_view(), name="programme"),
    path("checklists/<uuid:programme>/<str:skill>/<int:number>/", curriculum.Checklist.as_view(), name="checklist"),
]
