"""Many rows of a cache in few statements, without a model's instance for each, which would cost more than the rules."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from django.db import connection, models

VALUES = 900  # in one statement: SQLite takes 999 at the least

Row = tuple[Any, ...]


def batched(rows: Sequence[Any], width: int = 1) -> Iterator[Sequence[Any]]:
    """The rows, of so many values each, some statements' worth at a time."""
    size = VALUES // width
    for at in range(0, len(rows), size):
        yield rows[at : at + size]


def insert(model: type[models.Model], names: Sequence[str], rows: Sequence[Row]) -> None:
    """Add rows that hold the values of ``names``, for models without anything that hangs on them."""
    fields = [_field(model, name) for name in names]
    quote = connection.ops.quote_name
    columns = ", ".join(quote(str(field.column)) for field in fields)
    into = f"INSERT INTO {quote(model._meta.db_table)} ({columns}) VALUES "  # noqa: S608 - names of ours
    place = f"({', '.join(['%s'] * len(names))})"
    with connection.cursor() as cursor:
        for some in batched(rows, len(names)):
            values = [f.get_db_prep_save(v, connection) for row in some for f, v in zip(fields, row, strict=True)]
            cursor.execute(into + ", ".join([place] * len(some)), values)


def _field(model: type[models.Model], name: str) -> Any:
    return next(field for field in model._meta.concrete_fields if field.attname == name)
