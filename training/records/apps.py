from typing import Any

from django.apps import AppConfig
from django.core.checks import Tags, register
from django.db.models.signals import post_migrate


class RecordsConfig(AppConfig):
    name = "training.records"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        from training.records.checks import records_are_guarded

        post_migrate.connect(put_guards_back, sender=self)
        register(Tags.database)(records_are_guarded)


def put_guards_back(using: str, **kwargs: Any) -> None:
    from django.db import connections

    from training.records import guards

    connection = connections[using]
    if guards.TABLE in connection.introspection.table_names():
        guards.install(connection)
