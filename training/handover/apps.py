from django.apps import AppConfig


class HandoverConfig(AppConfig):
    name = "training.handover"
    default_auto_field = "django.db.models.BigAutoField"
