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
    fields = [model._meta.get_field(name) for name in names]
    columns = ", ".join(connection.ops.quote_name(str(field.column)) for field in fields)
    into = f"INSERT INTO {connection.ops.quote_name(model._meta.db_table)} ({columns}) "
    written = [list(_written(field, [row[at] for row in rows])) for at, field in enumerate(fields)]
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":  # a column as one value: the driver looks for no place in between
            arrays = ", ".join(f"%s::{field.db_type(connection)}[]" for field in fields)
            cursor.execute(f"{into} SELECT * FROM UNNEST({arrays})", written)  # noqa: S608 - names of ours
            return
        ready, some_rows = list(zip(*written, strict=True)), VALUES // len(names)
        place = f"({', '.join(['%s'] * len(names))})"
        for start in range(0, len(ready), some_rows):
            some = ready[start : start + some_rows]
            cursor.execute(into + "VALUES " + ", ".join([place] * len(some)), [value for row in some for value in row])


def _written(field: models.Field[Any, Any], values: list[Any]) -> Iterator[Any]:
    """A column's values as the database takes them."""
    if isinstance(field, models.DateField):
        return map(connection.ops.adapt_datefield_value, values)
    if isinstance(field, models.JSONField):
        return (field.get_db_prep_save(value, connection) for value in values)
    return iter(values)
