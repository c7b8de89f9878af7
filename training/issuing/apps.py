from django.apps import AppConfig
from django.core.checks import Tags, register


class IssuingConfig(AppConfig):
    name = "training.issuing"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from training.issuing.checks import address_is_known

        register(Tags.security, deploy=True)(address_is_known)
