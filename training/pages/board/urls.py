from django.urls import path

from training.pages.board import curriculum, files, saving, views

urlpatterns = [
    path("board/", views.Board.as_view(), name="board"),
    path("board/families.csv", files.BoardFile.as_view(), {"kind": "csv"}, name="board-csv"),
    path("board/families.xlsx", files.BoardFile.as_view(), {"kind": "xlsx"}, name="board-xlsx"),
    path("board/save/", saving.SaveFilter.as_view(), name="board-save"),
    path("board/forget/", saving.ForgetFilter.as_view(), name="board-forget"),
    path("checklists/", curriculum.Programmes.as_view(), name="programmes"),
    path("checklists/<uuid:programme>/", curriculum.ProgrammePage.as_view(), name="programme"),
    path("checklists/<uuid:programme>/<str:skill>/<int:number>/", curriculum.Checklist.as_view(), name="checklist"),
]
