"""A stay of a day and a night as its log tells it: start, who was on duty, each time staff stepped in, end.

Each is a record of its own, tied by the start's id, so the log is append-only while the stay goes on: nothing waits
in a draft for its end, and each entry is signed by whoever was there. A voided entry counts for nothing here too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from zoneinfo import ZoneInfo

from competency.fields import Problem
from training.records.models import Record
from training.standing.sanity import Asked, moment, voided_in

PARTS = ("start", "duty", "intervention", "end")


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """Who was on duty from when until when; caregivers by their case ids, instants in UTC."""

    record: Record
    who: tuple[str, ...]
    begins: datetime
    ends: datetime


class Stay:
    """One stay. parts: every record of it but the start, voided ones among them, in the order of the chain."""

    def __init__(self, start: Record, parts: Iterable[Record], zone: ZoneInfo, voided: frozenset[str]) -> None:
        self.start = start
        self.parts = list(parts)
        self.zone = zone
        self.is_voided = str(start.intent) in voided
        self._standing = [r for r in self.parts if str(r.intent) not in voided]

    @cached_property
    def began(self) -> datetime:
        return self._moment(self.start)

    @property
    def end(self) -> Record | None:
        return next((r for r in self._standing if r.data["part"] == "end"), None)

    @cached_property
    def ended(self) -> datetime | None:
        """None while it goes on."""
        return self._moment(self.end) if self.end else None

    @cached_property
    def interventions(self) -> list[tuple[datetime, Record]]:
        """Each time staff stepped in, in the order of time."""
        found = [(self._moment(r), r) for r in self._standing if r.data["part"] == "intervention"]
        return sorted(found, key=lambda pair: (pair[0], pair[1].number))

    @cached_property
    def duties(self) -> list[Duty]:
        found = [self._duty(r) for r in self._standing if r.data["part"] == "duty"]
        return sorted(found, key=lambda d: (d.begins, d.record.number))

    def _duty(self, record: Record) -> Duty:
        ends = self._moment(record, "until_on", "until_time")
        return Duty(record=record, who=tuple(record.data["who"]), begins=self._moment(record), ends=ends)

    def _moment(self, record: Record, day: str = "on", clock: str = "time") -> datetime:
        found = moment(record.data, self.zone, day, clock)
        assert found is not None, f"{record} was written without its day and time"
        return found

    def covered(self) -> dict[str, timedelta]:
        """How long each caregiver was on duty; two on duty together are each counted whole."""
        found: dict[str, timedelta] = {}
        for duty in self.duties:
            for who in duty.who:
                found[who] = found.get(who, timedelta()) + (duty.ends - duty.begins)
        return found

    def gaps(self, now: datetime) -> list[tuple[datetime, datetime]]:
        """The times at which nobody is written down as on duty, from its start through its end, or through ``now``."""
        return list(self._gaps(self.ended or now))

    def _gaps(self, until: datetime) -> Iterator[tuple[datetime, datetime]]:
        reached = self.began
        for duty in self.duties:
            if duty.begins > reached:
                yield reached, duty.begins
            reached = max(reached, duty.ends)
        if until > reached:
            yield reached, until


def stays_of(records: Iterable[Record], zone: ZoneInfo) -> list[Stay]:
    """Every stay of a file, newest first, voided ones among them."""
    found = list(records)
    voided = voided_in(found)
    parts: dict[str, list[Record]] = {}
    for record in found:
        if record.kind == "stay" and record.data["part"] != "start":
            parts.setdefault(record.data["record"], []).append(record)
    starts = [r for r in found if r.kind == "stay" and r.data["part"] == "start"]
    return [Stay(r, parts.get(str(r.intent), []), zone, voided) for r in reversed(starts)]


# Before it is written -------------------------------------------------------------------------------------


def judge(asked: Asked) -> Iterator[Problem]:
    """What is wrong with one record of a stay."""
    if not asked.has_part(PARTS):
        yield Problem("part", f"is not one of {', '.join(PARTS)}")
    elif asked.moment() is None:
        yield Problem("time", "is no day and time")
    elif asked.body["part"] == "start":
        yield from asked.words("place")
        yield from asked.skill()
    else:
        yield from _judge_part(asked)


def _judge_part(asked: Asked) -> Iterator[Problem]:
    start = asked.about("stay", "start")
    stay = next((s for s in stays_of(asked.file.records, asked.zone) if s.start is start), None)
    if stay is None or stay.is_voided:
        yield Problem("record", "names no stay of this family, or a voided one")
        return
    at = asked.moment()
    if at is not None and at < stay.began:
        yield Problem("time", "is before the stay began")
    yield from {"duty": _judge_duty, "intervention": _judge_intervention, "end": _judge_end}[asked.body["part"]](
        asked, stay
    )


def _judge_duty(asked: Asked, stay: Stay) -> Iterator[Problem]:
    yield from asked.who()
    begins, ends = asked.moment(), asked.moment("until_on", "until_time")
    if begins is None or ends is None or ends <= begins:
        yield Problem("until_time", "is not after the moment it began")
    elif ends > asked.at:
        yield Problem("until_time", "lies ahead: it is not that late yet where the patient is")
    elif stay.ended and ends > stay.ended:
        yield Problem("until_time", "is after the stay ended")
    else:
        named = set(asked.body.get("who") or ())
        if any(named & set(d.who) and d.begins < ends and begins < d.ends for d in stay.duties):
            yield Problem("who", "names somebody who is written down as on duty then already")


def _judge_intervention(asked: Asked, stay: Stay) -> Iterator[Problem]:
    yield from asked.words("reason", "by_whom")
    at = asked.moment()
    if at and stay.ended and at > stay.ended:
        yield Problem("time", "is after the stay ended")


def _judge_end(asked: Asked, stay: Stay) -> Iterator[Problem]:
    at = asked.moment()
    known = [d.ends for d in stay.duties] + [at for at, _ in stay.interventions]
    if stay.end is not None:
        yield Problem("record", "has its end already; void that one first")
    elif at == stay.began:
        yield Problem("time", "is the moment it began")
    elif at and any(at < one for one in known):
        yield Problem("time", "is before something that is written down about the stay")
