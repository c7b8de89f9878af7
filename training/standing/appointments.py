"""Appointments: what is planned together, when, and whose turn it is.

One is moved or cancelled by a newer record that names the first; the newest that is not voided stands. The first
record's id is the appointment's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any

from competency.fields import Problem
from training.people.models import Member
from training.records.models import Record
from training.standing.sanity import Asked, voided_in

PARTS = ("planned", "moved", "cancelled")
INTERPRETERS = ("in_person", "video", "phone")
LONGEST = 24 * 60  # minutes


@dataclass(frozen=True, slots=True, kw_only=True)
class Appointment:
    """One appointment as it stands. first: the record whose id it has; stands: the newest that says when and what."""

    first: Record
    stands: Record
    is_cancelled: bool

    @property
    def body(self) -> dict[str, Any]:
        return self.stands.data

    @property
    def day(self) -> date:
        return date.fromisoformat(self.body["day"])

    def concerns(self, caregiver: str) -> bool:
        """Whether it is this caregiver's turn, or they come along."""
        return caregiver == self.body["caregiver"] or caregiver in self.body["who"]


def appointments_of(records: Iterable[Record]) -> list[Appointment]:
    """Every appointment of a file that is not voided whole, in the order of their days and times."""
    found = list(records)
    voided = voided_in(found)
    groups: dict[str, list[Record]] = {}
    for record in found:
        if record.kind == "appointment":
            groups.setdefault(record.data.get("record") or str(record.intent), []).append(record)
    made = [a for group in groups.values() if (a := _appointment(group, voided))]
    return sorted(made, key=lambda a: (a.body["day"], a.body["at"], a.first.number))


def _appointment(group: list[Record], voided: frozenset[str]) -> Appointment | None:
    standing = [r for r in group if str(r.intent) not in voided]
    said = [r for r in standing if r.data["part"] != "cancelled"]
    if not said:
        return None
    return Appointment(first=group[0], stands=said[-1], is_cancelled=standing[-1].data["part"] == "cancelled")


def coming(records: Iterable[Record], day: date) -> list[Appointment]:
    """Those of this day and later that are not cancelled, the next first."""
    return [a for a in appointments_of(records) if not a.is_cancelled and a.day >= day]


# Before it is written -------------------------------------------------------------------------------------


def judge(asked: Asked) -> Iterator[Problem]:
    """What is wrong with a planned, moved or cancelled appointment."""
    if not asked.has_part(PARTS):
        yield Problem("part", f"is not one of {', '.join(PARTS)}")
        return
    part = asked.body["part"]
    if part != "planned":
        yield from _judge_named(asked)
    elif "record" in asked.body:
        yield Problem("record", "has no place in a first one")
    yield from asked.words("reason") if part == "cancelled" else _judge_said(asked)


def _judge_named(asked: Asked) -> Iterator[Problem]:
    named = asked.about("appointment", "planned")
    found = next((a for a in appointments_of(asked.file.records) if a.first is named), None)
    if found is None:
        yield Problem("record", "names no appointment of this family, or a voided one")
    elif found.is_cancelled:
        yield Problem("record", "is cancelled already; plan a new one")


def _judge_said(asked: Asked) -> Iterator[Problem]:
    yield from asked.caregiver()
    yield from asked.who(needed=False)
    yield from _judge_when(asked)
    yield from _judge_what(asked)
    yield from _judge_help(asked)


def _judge_when(asked: Asked) -> Iterator[Problem]:
    day, minutes = asked.day("day"), asked.body.get("minutes")
    if day is None or asked.moment("day", "at") is None:
        yield Problem("day", "is no day and time")
    elif day < asked.today:
        yield Problem("day", "lies behind: that day is over where the patient is")
    if minutes is not None and not (type(minutes) is int and 1 <= minutes <= LONGEST):
        yield Problem("minutes", f"is not between 1 and {LONGEST}")


def _judge_what(asked: Asked) -> Iterator[Problem]:
    skills = asked.body.get("skills")
    if not isinstance(skills, list) or not set(skills) <= asked.file.rules.skills.keys():
        yield Problem("skills", "names a skill this programme does not have")
    elif not skills:
        yield from asked.words("what")


def _judge_help(asked: Asked) -> Iterator[Problem]:
    """Who checks, and the interpreter."""
    checks, interpreter = asked.body.get("checks"), asked.body.get("interpreter")
    if checks is not None and not _is_member(asked, checks):
        yield Problem("checks", "is no member of this organisation")
    if interpreter is None:
        return
    if not isinstance(interpreter, dict) or interpreter.get("kind") not in INTERPRETERS:
        yield Problem("interpreter", f"is not one of {', '.join(INTERPRETERS)}")
    elif not str(interpreter.get("language") or "").strip():
        yield Problem("language", "has to be said")


def _is_member(asked: Asked, observer: object) -> bool:
    members = Member.objects.filter(organisation=asked.file.family.organisation_id)
    return any(m.observer_id == observer for m in members)
