"""The rows of one page of the board, at a cost that does not grow with the number of families.

Under one node of the tree of days the index holds its spans in the board's order already. So as many as the page needs
are taken from each of the few nodes that may hold the day, from the index alone; the first of those are the page's.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.core.exceptions import EmptyResultSet
from django.db import connections, router

from training.pages.board.asked import ORDER, Asked
from training.standing.days_tree import nodes_of
from training.standing.models import BoardSpan


def first_rows(asked: Asked, start: int, end: int) -> list[BoardSpan]:
    """Those asked for from start on and before end, each with its family and the family's caregivers."""
    keys = _keys(asked, start, end)
    rows = BoardSpan.objects.visible_to(asked.member).filter(
        family__in=[family for family, _first in keys],
        first_day__in={first for _family, first in keys},
        last_day__gte=asked.day,
    )
    rows = rows.select_related("family__on_board").prefetch_related("family__caregivers")
    found = {(span.family_id, span.first_day): span for span in rows}
    return [found[key] for key in keys if key in found]


def _keys(asked: Asked, start: int, end: int) -> list[tuple[int, date]]:
    """By family and first day, in the board’s order. Put together by hand: Django has no LIMIT in a UNION on SQLite."""
    nodes = nodes_of(asked.day)
    try:
        sql, given = _under(asked, nodes[0], end)
    except EmptyResultSet:  # of somebody with no families, say
        return []
    _same, others = _under(asked, nodes[0] + 1, end)
    place = next(at for at, (one, other) in enumerate(zip(given, others, strict=True)) if one != other)
    params = [value for node in nodes for value in (*given[:place], node, *given[place + 1 :])]
    parts = (f"SELECT * FROM ({sql}) AS under_{node}" for node in nodes)  # noqa: S608 - Django's own statement
    order = ", ".join(str(at) for at in range(1, len(ORDER) + 1))
    sql = f"{' UNION ALL '.join(parts)} ORDER BY {order} LIMIT %s OFFSET %s"
    with connections[router.db_for_read(BoardSpan)].cursor() as cursor:
        cursor.execute(sql, [*params, end - start, start])
        return [(family, _day(first)) for *_order, family, first in cursor.fetchall()]


def _under(asked: Asked, node: int, end: int) -> tuple[str, Sequence[Any]]:
    """The statement under one node; under another only one of its values is another."""
    some = asked.found([node]).values_list(*ORDER, "first_day")[:end]
    found: tuple[str, Sequence[Any]] = some.query.sql_with_params()
    return found


def _day(value: Any) -> date:
    """SQLite has no type for a day."""
    return value if isinstance(value, date) else date.fromisoformat(value)
