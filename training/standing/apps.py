from django.apps import AppConfig


class StandingConfig(AppConfig):
    name = "training.standing"
    default_auto_field = "django.db.models.BigAutoField"
