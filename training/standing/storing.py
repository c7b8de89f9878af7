"""Rows of a cache brought to what they are to be, for one family or many at once: what is there already stays."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date
from typing import Any

from django.db import connection, models

AT_A_TIME = 150  # rows in one statement: SQLite takes 999 values at the least

Rows = Iterable[tuple[Any, ...]]


def bring(model: type[models.Model], families: Collection[int], names: Sequence[str], rows: Rows) -> None:
    """Make and remove rows until those of these families are the given ones: (family, the values of ``names``).

    For models without anything that hangs on them. Call it inside a transaction.
    """
    wanted = set(rows)
    stored = model._default_manager.filter(family__in=families).values_list("pk", "family_id", *names)
    there = {row[1:]: row[0] for row in stored}
    gone = [pk for row, pk in there.items() if row not in wanted]
    for at in range(0, len(gone), AT_A_TIME):
        model._default_manager.filter(pk__in=gone[at : at + AT_A_TIME]).delete()
    _insert(model, ("family_id", *names), list(wanted - there.keys()))


def _insert(model: type[models.Model], names: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> None:
    """Plain statements: a model's instance for each of millions of rows would cost more than the rules do."""
    fields = {f.attname: f for f in model._meta.concrete_fields}
    columns = ", ".join(connection.ops.quote_name(str(fields[name].column)) for name in names)
    into = f"INSERT INTO {connection.ops.quote_name(model._meta.db_table)} ({columns}) VALUES "  # noqa: S608 - names of ours
    places = f"({', '.join(['%s'] * len(names))})"
    as_day = connection.ops.adapt_datefield_value
    with connection.cursor() as cursor:
        for at in range(0, len(rows), AT_A_TIME):
            some = rows[at : at + AT_A_TIME]
            values = [as_day(value) if isinstance(value, date) else value for row in some for value in row]
            cursor.execute(into + ", ".join([places] * len(some)), values)
