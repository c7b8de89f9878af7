from django.apps import AppConfig


class InvitationsConfig(AppConfig):
    name = "training.invitations"
    default_auto_field = "django.db.models.BigAutoField"
