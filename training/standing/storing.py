"""Rows of a cache put into their table as they are."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from django.db import connection, models

VALUES = 900  # in one statement: SQLite takes 999 at the least


def batched(keys: Sequence[int]) -> Iterator[Sequence[int]]:
    """As many of these as fit into one statement, until there are none left."""
    for start in range(0, len(keys), VALUES):
        yield keys[start : start + VALUES]


def insert(model: type[models.Model], names: Sequence[str], rows: Sequence[tuple[Any, ...]]) -> None:
    """Add these rows, each with the values of ``names``. Call it inside a transaction.

    Plain statements: an instance of the model for each of millions of rows would cost more than the rules do.
    """
    fields = {f.attname: f for f in model._meta.concrete_fields}
    columns = ", ".join(connection.ops.quote_name(str(fields[name].column)) for name in names)
    into = f"INSERT INTO {connection.ops.quote_name(model._meta.db_table)} ({columns}) VALUES "  # noqa: S608 - names of ours
    places = f"({', '.join(['%s'] * len(names))})"
    written = [_written(fields[name], [row[at] for row in rows]) for at, name in enumerate(names)]
    ready, some_rows = list(zip(*written, strict=True)), VALUES // len(names)
    with connection.cursor() as cursor:
        for start in range(0, len(ready), some_rows):
            some = ready[start : start + some_rows]
            cursor.execute(into + ", ".join([places] * len(some)), [value for row in some for value in row])


def _written(field: models.Field[Any, Any], values: list[Any]) -> Iterator[Any]:
    """A column's values as the database takes them."""
    if isinstance(field, models.DateField):
        return map(connection.ops.adapt_datefield_value, values)
    if isinstance(field, models.JSONField):
        return (field.get_db_prep_save(value, connection) for value in values)
    return iter(values)
