from django.apps import AppConfig, apps


class LogConfig(AppConfig):
    name = "training.log"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from training.log import coming

        coming.listen(locks=apps.is_installed("axes"))
