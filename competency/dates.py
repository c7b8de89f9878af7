"""Calendar arithmetic: periods of calendar months and days, and the days they lead to.

Dates are local dates where the patient is. A month that is too short clips the day, and a period is always
counted from the original date in one step (design 4.3), so 31 August + P6M + P1M is 31 March.
"""

from __future__ import annotations

import re
from calendar import monthrange
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta

ONE_DAY = timedelta(days=1)
LAST = date.max
_PERIOD = re.compile(r"P(?=\d)(?:(\d{1,4})Y)?(?:(\d{1,4})M)?(?:(\d{1,4})W)?(?:(\d{1,5})D)?", re.ASCII)


class BadPeriodError(ValueError):
    """A text that is no ISO 8601 period of years, months, weeks and days."""


@dataclass(frozen=True, slots=True)
class Period:
    """Calendar months first, then days. Both are 0 or more."""

    months: int = 0
    days: int = 0

    @classmethod
    def parse(cls, text: str) -> Period:
        """Read ``P1Y``, ``P3M``, ``P30D``, ``P2W`` or a mix in that order.

        Raises BadPeriodError for anything else, and for more than 200 years.
        """
        match = _PERIOD.fullmatch(text)
        if match is None:
            raise BadPeriodError(f"{text!r} is no period such as P30D, P3M or P1Y")
        years, months, weeks, days = (int(part or 0) for part in match.groups())
        period = cls(months=12 * years + months, days=7 * weeks + days)
        if period.months > 2400 or period.days > 73_000:
            raise BadPeriodError(f"{text!r} is longer than 200 years")
        return period

    @property
    def is_zero(self) -> bool:
        return not (self.months or self.days)

    def after(self, day: date) -> date:
        """The day this long after ``day``: the last day of what starts there and holds this long."""
        if self.months:
            day = add_months(day, self.months)
        if self.days:
            day = LAST if (LAST - day).days < self.days else day + timedelta(days=self.days)
        return day

    def then(self, more: Period) -> Period:
        """Both together, counted in one step."""
        return Period(self.months + more.months, self.days + more.days)


def add_months(day: date, months: int) -> date:
    """The same day ``months`` calendar months on, clipped to that month's last day."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    if year > LAST.year:
        return LAST
    month += 1
    if day.day <= 28:
        return date(year, month, day.day)
    return date(year, month, min(day.day, monthrange(year, month)[1]))


def month_end(day: date) -> date:
    """The last day of the month of ``day``."""
    return date(day.year, day.month, monthrange(day.year, day.month)[1])


def next_day(day: date) -> date:
    """The day after; the last day there is stays."""
    return day if day == LAST else day + ONE_DAY


def edges(intervals: Iterable[tuple[date, date | None]]) -> Iterator[date]:
    """The days on which any of these whole-day intervals begins, or is over."""
    for start, through in intervals:
        yield start
        if through is not None and through != LAST:
            yield next_day(through)


def birthday(born: date, age: int) -> date:
    """The day somebody turns ``age``; a 29 February birthday falls on the 28th in other years."""
    return add_months(born, 12 * age)
