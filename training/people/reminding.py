"""The one question before anything automatic: a line on a board, a lapse ahead, an appointment to come, a message."""

from __future__ import annotations

from datetime import date, datetime

from training.people.models import Family


def is_watched(family: Family, day: date) -> bool:
    """Whether a family is looked after from this file on that local day: neither closed nor handed over by then."""
    return not family.is_closed_on(day) and not family.is_handed_over_on(day)


def may_remind(family: Family, now: datetime) -> bool:
    """Whether anything may be shown or sent by itself about this family. After a death, never again."""
    return is_watched(family, family.today(now))
