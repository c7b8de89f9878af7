"""Closing a file, and opening it again. A wrong closing is undone by opening again, never voided."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

from competency.fields import Problem
from training.people.models import Family
from training.standing.sanity import Asked


def _judge_closing(asked: Asked) -> Iterator[Problem]:
    if asked.file.family.closed_on is not None:
        yield Problem("on", "is too late: the file is closed already")
    if asked.body.get("why") not in Family.Why.values:
        yield Problem("why", f"is not one of {', '.join(Family.Why.values)}")
    if asked.day("on") is None:
        yield Problem("on", "is no day")


def _judge_reopening(asked: Asked) -> Iterator[Problem]:
    if asked.file.family.closed_on is None:
        yield Problem("on", "has nothing to open: the file is not closed")
    if asked.day("on") is None:
        yield Problem("on", "is no day")
    yield from asked.words("reason")


JUDGES: Mapping[str, Callable[[Asked], Iterator[Problem]]] = {
    "closing": _judge_closing,
    "reopening": _judge_reopening,
}
