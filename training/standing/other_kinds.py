"""The kinds of records that the rules do not read: an event, a comment, a stay's log, an appointment,
what a caregiver agrees to, a file's first page.

They count for nothing: no standing, no verdict is ever another because of them. Each is judged here for sanity before
it is written. `stays` and `appointments` read theirs back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

from competency.fields import Problem
from training.records.models import Record
from training.standing import agreements, appointments, closing, handover, kit, sites, stays, told_cards
from training.standing.file import FOR_GOOD, FamilyFile
from training.standing.sanity import Asked

EVENT_PARTS = ("event", "debrief")
DEBRIEF = ("debrief_on", "debrief_by", "debrief_said")
COMMENTED = frozenset(
    {
        "demonstration", "certificate", "accepted", "signature", "hold", "recheck", "withdrawal", "event", "stay",
        "appointment",
    }
)  # fmt: skip


def problems(file: FamilyFile, kind: str, body: Mapping[str, Any], at: datetime) -> Iterator[Problem]:
    """What is wrong with a record of one of these kinds; nothing for any other kind.

    file: without the record. body: with its signature. That what was seen does not lie ahead is asked elsewhere.
    """
    if kind in _JUDGES:
        yield from _JUDGES[kind](Asked(file, body, at))


def is_theirs(record: Record, caregiver: str) -> bool:
    """Whether a record is about this caregiver, so that they may say something about it."""
    body = record.data
    return record.kind in COMMENTED and (body.get("caregiver") == caregiver or caregiver in (body.get("who") or ()))


def _judge_event(asked: Asked) -> Iterator[Problem]:
    if not asked.has_part(EVENT_PARTS):
        yield Problem("part", f"is not one of {', '.join(EVENT_PARTS)}")
    elif asked.body["part"] == "event":
        yield from _judge_happening(asked)
    else:
        yield from _judge_debrief(asked)


def _judge_happening(asked: Asked) -> Iterator[Problem]:
    if asked.moment() is None:
        yield Problem("time", "is no day and time")
    yield from asked.who()
    yield from asked.words("happened", "done")
    if any(asked.body.get(key) for key in DEBRIEF):
        yield from asked.words("debrief_by", "debrief_said")
        yield from _not_before(asked, "debrief_on", asked.day("on"))


def _judge_debrief(asked: Asked) -> Iterator[Problem]:
    event = asked.about("event", "event")
    if event is None:
        yield Problem("record", "names no event of this family")
        return
    yield from asked.words("debrief_by", "debrief_said")
    yield from _not_before(asked, "on", date.fromisoformat(event.data["on"]))


def _not_before(asked: Asked, key: str, event: date | None) -> Iterator[Problem]:
    day = asked.day(key)
    if day is None:
        yield Problem(key, "is no day")
    elif event and day < event:
        yield Problem(key, "is before the day it happened")
    elif key != "on" and day > asked.today:  # "on" is asked where every record's is
        yield Problem(key, "lies ahead: it is not that day yet where the patient is")


def _judge_comment(asked: Asked) -> Iterator[Problem]:
    """Nobody writes a caregiver's words but the caregiver."""
    body = asked.body
    caregiver, record = str(body.get("caregiver")), asked.file.record(str(body.get("record")))
    yield from asked.caregiver()
    yield from asked.words("said")
    if body["signed"]["id"] != caregiver:
        yield Problem("caregiver", "is not who signs it; a caregiver’s words are their own")
    if record is None or not is_theirs(record, caregiver):
        yield Problem("record", "is no record of this family about this caregiver")
    if asked.day("on") is None:
        yield Problem("on", "is no day")


def _judge_void(asked: Asked) -> Iterator[Problem]:
    """Offers, hand-overs and closings are answered or undone by another deed, never voided."""
    named = asked.file.record(str(asked.body.get("record")))
    if named is not None and named.kind in FOR_GOOD:
        yield Problem("record", "is of a kind that is never voided")


_JUDGES: Mapping[str, Callable[[Asked], Iterator[Problem]]] = {
    "event": _judge_event,
    "comment": _judge_comment,
    "stay": stays.judge,
    "appointment": appointments.judge,
    "agreement": agreements.judge,
    "told_card": told_cards.judge,
    kit.CHECK: kit.judge,
    "void": _judge_void,
    "family": sites.judge,
    **closing.JUDGES,
    **handover.JUDGES,
}
