"""The records of a hand-over, before they are written: an offer, its end, a file taken over, and papers from outside.

An offer and what became of it stand in the chain of the organisation that offers. The one that accepts begins a chain
of its own, whose first record is the `handover`: it notes the other chain's head and the file that was handed over.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date, timedelta

from competency.fields import Problem
from training.records.models import Record
from training.standing.sanity import Asked

DAYS_OPEN = timedelta(days=30)
ENDS = ("offer_withdrawn", "offer_declined", "offer_accepted")
_DIGEST = re.compile(r"[0-9a-f]{64}", re.ASCII)


def open_offer(records: Iterable[Record], day: date) -> Record | None:
    """The offer of a file that waits for an answer on a day; at most one does."""
    found = list(records)
    ended = {r.data["record"] for r in found if r.kind in ENDS}
    waiting = [r for r in found if r.kind == "offer" and str(r.intent) not in ended]
    return next((r for r in waiting if day <= date.fromisoformat(r.data["through"])), None)


def _judge_offer(asked: Asked) -> Iterator[Problem]:
    if asked.file.family.closed_on is not None:
        yield Problem("to", "cannot have a family whose file is closed")
    if open_offer(asked.file.records, asked.today) is not None:
        yield Problem("to", "waits: this family is offered already; withdraw that offer first")
    if asked.body.get("to_id") == str(asked.file.family.organisation.public_id):
        yield Problem("to", "is this organisation itself")
    yield from asked.words("to", "reason")
    for key in ("on", "through"):
        if asked.day(key) is None:
            yield Problem(key, "is no day")
    if not isinstance(asked.body.get("summary"), dict):
        yield Problem("summary", "has to say what the other side is shown")


def _judge_end(asked: Asked) -> Iterator[Problem]:
    """Withdrawn, declined or accepted: once, while it is open."""
    waiting = open_offer(asked.file.records, asked.today)
    if waiting is None or str(waiting.intent) != asked.body.get("record"):
        yield Problem("record", "names no offer of this family that waits for an answer")
    if asked.day("on") is None:
        yield Problem("on", "is no day")


def _judge_end_with_reason(asked: Asked) -> Iterator[Problem]:
    yield from _judge_end(asked)
    yield from asked.words("reason")


def _judge_handover(asked: Asked) -> Iterator[Problem]:
    if asked.file.records:
        yield Problem("from", "comes too late: a hand-over is the first record of a file")
    yield from asked.words("from_title")
    for key in ("head", "sha256"):
        if not _DIGEST.fullmatch(str(asked.body.get(key))):
            yield Problem(key, "is no digest")


def _judge_outside_evidence(asked: Asked) -> Iterator[Problem]:
    yield from asked.words("evidence", "says")
    if asked.day("on") is None:
        yield Problem("on", "is no day")
    if asked.body.get("caregiver") is not None:
        yield from asked.caregiver()


JUDGES: Mapping[str, Callable[[Asked], Iterator[Problem]]] = {
    "offer": _judge_offer,
    "offer_withdrawn": _judge_end_with_reason,
    "offer_declined": _judge_end_with_reason,
    "offer_accepted": _judge_end,
    "handover": _judge_handover,
    "outside_evidence": _judge_outside_evidence,
}
