from django.urls import path

from training.pages.bedside import shell, views

urlpatterns = [
    path("bedside/", shell.Shell.as_view(), name="bedside"),
    path("bedside/worker.js", shell.Worker.as_view(), name="bedside-worker"),
    path("bedside/pack/<uuid:family>/", views.Pack.as_view(), name="bedside-pack"),
    path("bedside/token/", views.Token.as_view(), name="bedside-token"),
    path("bedside/arrive/", views.Arrive.as_view(), name="bedside-arrive"),
    path("bedside/unlock/", views.Unlock.as_view(), name="bedside-unlock"),
]
