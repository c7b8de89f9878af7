from django.apps import AppConfig


class PagesConfig(AppConfig):
    name = "training.pages"
    default_auto_field = "django.db.models.BigAutoField"
