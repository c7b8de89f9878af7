from django.apps import AppConfig


class DocumentsConfig(AppConfig):
    name = "training.documents"
    default_auto_field = "django.db.models.BigAutoField"
