"""``manage.py migrate``: Django's own, which first puts back the triggers whose loss stops everything else."""

from __future__ import annotations

from typing import Any

from django.core.management.commands import migrate
from django.db import connections

from training.records import guards
from training.records.apps import put_guards_back


class Command(migrate.Command):
    def execute(self, *args: Any, **options: Any) -> Any:
        """The checks come first in here, and refuse a database without its triggers. Who only looks mends nothing."""
        if not (options["plan"] or options["check_unapplied"]):
            self.put_back(options["database"])
        return super().execute(*args, **options)

    def put_back(self, alias: str) -> None:
        connection = connections[alias]
        if guards.TABLE not in connection.introspection.table_names():
            return
        gone = guards.missing(connection)
        put_guards_back(using=alias)
        for name in gone:
            self.stderr.write(
                self.style.WARNING(f"The trigger {name} was missing and is back. Find out who took it away.")
            )
