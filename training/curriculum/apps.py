from django.apps import AppConfig


class CurriculumConfig(AppConfig):
    name = "training.curriculum"
    default_auto_field = "django.db.models.BigAutoField"
