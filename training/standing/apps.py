from django.apps import AppConfig
from django.core.checks import Tags, register
from django.db.models.signals import post_migrate


class StandingConfig(AppConfig):
    name = "training.standing"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from training.standing.waiting import families_are_worked_out, work_out_waiting

        register(Tags.database)(families_are_worked_out)
        post_migrate.connect(work_out_waiting, sender=self)
