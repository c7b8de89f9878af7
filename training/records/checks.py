"""The start-up check: a database whose records can be changed is not served."""

from __future__ import annotations

from typing import Any

from django.core.checks import Error
from django.db import connections

from training.records import guards


def records_are_guarded(databases: Any = None, **kwargs: Any) -> list[Error]:
    """One error for each trigger that is missing. A database without the table has nothing to guard yet."""
    errors = []
    for alias in databases or ():
        connection = connections[alias]
        if guards.TABLE not in connection.introspection.table_names():
            continue
        errors += [
            Error(
                f"The trigger {name} is missing: records could be changed.",
                hint="Run `manage.py migrate`, which puts it back, and find out who took it away.",
                id="records.E001",
            )
            for name in guards.missing(connection)
        ]
    return errors
