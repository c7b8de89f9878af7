"""Which pauses are in force: a hold on everything that a caregiver put themself (`training.standing.pauses`)."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from training.records.models import Record
from training.standing.sanity import voided_in


@dataclass(frozen=True, slots=True, kw_only=True)
class Pause:
    """An open pause. said, said_on: the last words of the caregiver on it; empty and None before there are any."""

    record: Record
    caregiver: str
    since: date
    through: date | None
    said: str
    said_on: date | None


def is_own_pause(record: Record) -> bool:
    body = record.data
    return record.kind == "hold" and body["skill"] is None and body["signed"]["id"] == body["caregiver"]


def pauses_of(records: Iterable[Record], day: date) -> list[Pause]:
    """The pauses in force on a day, in the order they were asked for. records: of one family."""
    rows = list(records)
    gone = voided_in(rows)
    comments = {r.data["record"]: r.data for r in rows if r.kind == "comment" and str(r.intent) not in gone}
    found = (_pause(r, comments.get(str(r.intent))) for r in rows if is_own_pause(r) and str(r.intent) not in gone)
    return [p for p in found if p.since <= day and (p.through is None or day <= p.through)]


def _pause(record: Record, comment: dict[str, str] | None) -> Pause:
    return Pause(
        record=record,
        caregiver=record.data["caregiver"],
        since=date.fromisoformat(record.data["on"]),
        through=date.fromisoformat(record.data["through"]) if record.data["through"] else None,
        said=comment["said"] if comment else "",
        said_on=date.fromisoformat(comment["on"]) if comment else None,
    )
