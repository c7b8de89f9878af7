"""A family at a glance, as a board shows it, through time: verdict, what is missing, the team, who is ready."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from competency.answer import nearest_way
from competency.course import CURRENT
from competency.dates import LAST, edges
from competency.history import FamilyHistory
from competency.plan import look_up
from competency.programme import Alternative, Rules
from competency.readiness import Missing, Verdict, verdict_on
from competency.records import Caregiver
from competency.standing import Line
from competency.team import match


@dataclass(frozen=True, slots=True, kw_only=True)
class Glance:
    """One family at the end of a day.

    way: the alternative of the team rule that is met, else the nearest; places and filled are its. ready: how many
    caregivers hold each set of the rules in force, in their order. single: one person alone holds the set of the
    nights, the one that asks for most. changed: a sign-off stands, or is held, that a changed fact wants shown again.
    """

    verdict: Verdict
    missing: tuple[Missing, ...]
    way: str
    places: int
    filled: int
    ready: tuple[tuple[str, int], ...]
    single: bool
    changed: bool


def glances(history: FamilyHistory) -> Line[Glance]:
    """From the care plan's first day on; empty without a care plan."""
    first = history.plan.first_day
    if first is None:
        return Line(())
    changed = _changed_line(history)
    days = {*history.readiness.days, *changed.starts}
    for caregiver in history.caregivers.values():
        days.update(history.readiness.held_line(caregiver).starts)
        days.update(edges([(caregiver.from_day or first, caregiver.through)]))
    for line in history.plan.required.values():
        days.update(day for day, _ in line)
    return Line((day, _glance(history, changed, day)) for day in sorted(days) if day >= first)


def _glance(history: FamilyHistory, changed: Line[bool], day: date) -> Glance:
    readiness = history.readiness
    people = readiness.people(day)
    rules, met = readiness.rules(day), readiness.team_met_by(day)
    way = met or nearest_way(history, day)
    places, filled = match(way, people, day) if way else (0, {})
    ready = tuple((name, sum(name in p.holds for p in people)) for name in (rules.sets if rules else ()))
    missing = tuple(readiness.missing(day))
    return Glance(
        verdict=verdict_on(missing),
        missing=missing,
        way=way.name if way else "",
        places=places,
        filled=len(filled),
        ready=ready,
        single=rules is not None and (night_set(rules, way), 1) in ready,
        changed=bool(changed.on(day)),
    )


def night_set(rules: Rules, way: Alternative | None) -> str | None:
    """The set that covers a night: of those this way of meeting the team rule asks for, the one with most skills."""
    asked = [row.set for row in way.people] if way else list(rules.sets)
    return max(asked, key=lambda name: len(rules.sets[name]), default=None)


# What changed -------------------------------------------------------------------------------------------------


def _changed_line(history: FamilyHistory) -> Line[bool]:
    """Whether anybody in the family has a sign-off that a changed fact asks to be shown again."""
    stretches = [s for caregiver in history.caregivers.values() for s in _changed(history, caregiver)]
    days = sorted(set(edges(stretches)))
    return Line((day, any(start <= day <= last for start, last in stretches)) for day in days)


def _changed(history: FamilyHistory, caregiver: Caregiver) -> Iterator[tuple[date, date]]:
    for code, course in history.sweeps[caregiver.id].courses.items():
        for note, following in zip(course.notes, [*course.notes[1:], None], strict=True):
            if note.changed and note.phase is CURRENT:
                last = date.fromordinal(following.day.toordinal() - 1) if following else LAST
                yield from _required_within(history, caregiver, code, note.day, last)


def _required_within(
    history: FamilyHistory, caregiver: Caregiver, skill: str, first: date, last: date
) -> Iterator[tuple[date, date]]:
    """The days from first through last on which the skill is required and the caregiver is in the family."""
    first, last = max(first, caregiver.from_day or first), min(last, caregiver.through or last)
    line = history.plan.required[skill]
    cuts = [first, *(day for day, _ in line if first < day <= last)]
    for start, end in zip(cuts, [*cuts[1:], None], strict=True):
        through = date.fromordinal(end.toordinal() - 1) if end else last
        if start <= through and look_up(line, start):
            yield start, through
