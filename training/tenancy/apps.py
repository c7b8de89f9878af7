from typing import Any

from django.apps import AppConfig, apps
from django.core.checks import Tags, register
from django.db.models.signals import post_migrate


class TenancyConfig(AppConfig):
    name = "training.tenancy"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from training.tenancy.checks import site_role_is_sound
        from training.tenancy.scope import follow_signing_in

        follow_signing_in()
        # after a migration all tables are there; Django names no app without models then, so the record's is asked
        post_migrate.connect(put_policies_back, sender=apps.get_app_config("records"))
        register(Tags.database)(site_role_is_sound)


def put_policies_back(using: str, **kwargs: Any) -> None:
    from django.db import connections

    from training.tenancy.roles import put_in_place

    put_in_place(connections[using])
