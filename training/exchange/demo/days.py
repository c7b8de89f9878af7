"""Days of the demo, written as distances from today: ``-40``, or ``-6M+5`` for six calendar months back, five on."""

from __future__ import annotations

import calendar
import re
from datetime import date, timedelta

_MONTHS = re.compile(r"([+-]?\d+)M([+-]\d+)?")


class BadDayError(ValueError):
    """A distance that is neither days nor months and days."""


def day_of(distance: int | str, today: date) -> date:
    """The day at this distance from ``today``; the day of the month is clipped before days are added."""
    if isinstance(distance, int):
        return today + timedelta(days=distance)
    found = _MONTHS.fullmatch(distance)
    if found is None:
        raise BadDayError(f"{distance!r}: write days such as -40, or months and days such as -6M+5")
    year, month = divmod(today.year * 12 + today.month - 1 + int(found[1]), 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(today.day, last)) + timedelta(days=int(found[2] or 0))


def born(age: float, today: date) -> date:
    """A birth date for somebody of so many years."""
    return today - timedelta(days=round(age * 365.25))


def spread(count: int, first: date, last: date) -> list[date]:
    """So many days, evenly from the first through the last."""
    length = (last - first).days
    return [first + timedelta(days=round(i * length / max(count - 1, 1))) for i in range(count)]
