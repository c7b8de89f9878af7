"""Whether a family meets the programme's rules to go, or stay, home, with what is missing (design 4.7)."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import cached_property
from operator import itemgetter

from competency.dates import LAST, birthday, edges, next_day
from competency.knowledge import Known
from competency.plan import FamilyPlan
from competency.programme import Alternative, ItemRule, Rules
from competency.records import Caregiver, ItemDone, in_force
from competency.standing import Line, Standing, Standings
from competency.team import Person, first_met


class Verdict(StrEnum):
    READY = "ready"
    READY_BY_EXCEPTION = "ready_by_exception"
    NOT_READY = "not_ready"


TEAM = "team"


def item_code(code: str) -> str:
    return f"item:{code}"


def fact_code(name: str) -> str:
    return f"fact:{name}"


@dataclass(frozen=True, slots=True)
class Missing:
    """One thing the family lacks on a day: ``team``, ``item:CODE`` or ``fact:NAME``; excepted where one covers it."""

    code: str
    excepted: bool


class Readiness:
    """The family's team and verdict on any day, and their lines through time."""

    def __init__(self, known: Known, plan: FamilyPlan, standings: Mapping[str, Standings]) -> None:
        self._known = known
        self._plan = plan
        self._standings = standings
        self._held: dict[str, Line[frozenset[str]]] = {}
        self._items: dict[ItemRule, Line[bool]] = {}

    # Sets and team ----------------------------------------------------------------------------------------

    def rules(self, day: date) -> Rules | None:
        return self._known.programme.rules_on(day)

    def held_sets(self, caregiver: Caregiver, day: date) -> dict[str, bool]:
        """Every set of the rules in force, and whether this caregiver holds it on ``day``."""
        rules = self.rules(day)
        held = self.held_line(caregiver).on(day) or frozenset()
        return {name: name in held for name in rules.sets} if rules is not None else {}

    def held_line(self, caregiver: Caregiver) -> Line[frozenset[str]]:
        """The sets this caregiver holds, from the care plan's first day on; none while not in the family."""
        found = self._held.get(caregiver.id)
        if found is None:
            found = self._held[caregiver.id] = Line(self._held_points(caregiver))
        return found

    def _held_points(self, caregiver: Caregiver) -> Iterator[tuple[date, frozenset[str]]]:
        first = self._plan.first_day
        if first is None:
            return
        standings = self._standings[caregiver.id]
        for start, end, rules in self._known.programme.epochs(first):
            sets = rules.sets if rules is not None else {}
            points = held_points(sets, {s: standings.line(s) for set_ in sets.values() for s in set_}, start, end)
            always = caregiver.from_day is None and caregiver.through is None
            yield from points if always else within_stay(points, caregiver, start, end)

    def people(self, day: date) -> list[Person]:
        """The caregivers who are in the family on ``day``, with the sets they hold."""
        return [
            Person(c.id, c.born, c.is_patient, self.held_line(c).on(day) or frozenset())
            for c in self._known.caregivers
            if c.is_here(day)
        ]

    def team_met_by(self, day: date) -> Alternative | None:
        return self._team_line.on(day)

    @cached_property
    def _team_line(self) -> Line[Alternative | None]:
        """The first alternative that is met, from the care plan's first day on."""
        return Line(self._team_points())

    def _team_points(self) -> Iterator[tuple[date, Alternative | None]]:
        first = self._plan.first_day
        if first is None:
            return
        known: dict[object, Alternative | None] = {}
        for start, end, rules in self._known.programme.epochs(first):
            team = rules.team if rules is not None else ()
            birthdays = self._birthdays(team)
            days = {start, *(day for day in birthdays if start < day < end)}
            for caregiver in self._known.caregivers:
                days.update(day for day in self.held_line(caregiver).starts if start < day < end)
            for day in sorted(days):
                people = self.people(day)
                key = (start, tuple(people), sum(b <= day for b in birthdays))
                if key not in known:
                    known[key] = first_met(team, people, day)
                yield day, known[key]

    def _birthdays(self, team: Sequence[Alternative]) -> list[date]:
        """The days on which a caregiver reaches an age that the team asks for."""
        ages = {row.minimum_age for alternative in team for row in alternative.people if row.minimum_age}
        return [birthday(c.born, age) for c in self._known.caregivers if c.born is not None for age in ages]

    # What is missing --------------------------------------------------------------------------------------

    def is_done(self, item: ItemRule, day: date) -> bool:
        """Whether the item was done on or before ``day`` and is not out of date."""
        return bool(self._item_line(item).on(day))

    def _item_line(self, item: ItemRule) -> Line[bool]:
        found = self._items.get(item)
        if found is None:
            found = self._items[item] = Line(item_points(item, self._known.items))
        return found

    def unstated_facts(self, day: date) -> tuple[str, ...]:
        """Facts that a condition of any skill or step in force asks about and the care plan does not state."""
        return self._unstated_line.on(day) or ()

    @cached_property
    def _unstated_line(self) -> Line[tuple[str, ...]]:
        programme, first = self._known.programme, self._plan.first_day
        days = {day for day, _ in self._plan.facts} | set(programme.asked_facts)
        return Line(
            (day, tuple(sorted(programme.facts_asked_on(day) - set(self._plan.facts_on(day)))))
            for day in sorted(days)
            if first is not None
        )

    def missing(self, day: date) -> list[Missing]:
        """What is missing on ``day``: the team, then items in their order, then facts by name."""
        first = self._plan.first_day
        if first is None or day < first:
            return []
        rules = self.rules(day)
        codes = [] if self.team_met_by(day) is not None else [TEAM]
        codes += [item_code(i.code) for i in (rules.items if rules else ()) if not self.is_done(i, day)]
        codes += [fact_code(f) for f in self.unstated_facts(day)]
        return [Missing(code, self._is_excepted(code, day)) for code in codes]

    def _is_excepted(self, code: str, day: date) -> bool:
        return any(x.missing == code and in_force(x.from_day, x.through, day) for x in self._known.exceptions)

    def verdict(self, day: date) -> Verdict | None:
        """The verdict at the end of ``day``; None before the care plan's first day."""
        return self.line.on(day)

    @cached_property
    def line(self) -> Line[Verdict]:
        """The verdict from the care plan's first day on; empty without a care plan."""
        return Line((day, verdict_on(self.missing(day))) for day in self.days)

    @cached_property
    def days(self) -> list[date]:
        """The care plan's first day, and every later one on which something the verdict rests on may become another."""
        first = self._plan.first_day
        if first is None:
            return []
        return sorted({first, *(day for day in self._edges() if day > first)})

    def _edges(self) -> Iterator[date]:
        """Every day on which something the verdict rests on begins or ends."""
        programme = self._known.programme
        yield from (rules.in_force_from for rules in programme.rules)
        yield from self._team_line.starts
        yield from self._unstated_line.starts
        yield from edges((x.from_day, x.through) for x in self._known.exceptions)
        for rules in programme.rules:
            for item in rules.items:
                yield from self._item_line(item).starts


def held_points(
    sets: Mapping[str, Sequence[str]], lines: Mapping[str, Line[Standing]], start: date, end: date
) -> Iterator[tuple[date, frozenset[str]]]:
    """The sets held from each day on, between ``start`` and the day before ``end``.

    A set is held while something of it is required and nothing of it that is required is not signed off; both are
    counted, so that a change of one standing costs no second look at the others.
    """
    required, lacking = dict.fromkeys(sets, 0), dict.fromkeys(sets, 0)
    now = dict.fromkeys(lines, (False, False))

    def becomes(skill: str, standing: Standing | None) -> None:
        before = now[skill]
        after = now[skill] = (standing not in _NOT_ASKED, standing not in _NOT_LACKING)
        if after == before:
            return
        for name, set_ in sets.items():
            if skill in set_:
                required[name] += after[0] - before[0]
                lacking[name] += after[1] - before[1]

    changes = [
        (day, skill, standing) for skill, line in lines.items() for day, standing in line.points if start < day < end
    ]
    changes.sort(key=itemgetter(0))
    for skill, line in lines.items():
        becomes(skill, line.on(start))
    day = start
    for when, skill, standing in changes:
        if when != day:
            yield day, frozenset([name for name in sets if required[name] and not lacking[name]])
            day = when
        becomes(skill, standing)
    yield day, frozenset([name for name in sets if required[name] and not lacking[name]])


_NOT_ASKED = (None, Standing.NOT_REQUIRED)
_NOT_LACKING = (None, Standing.NOT_REQUIRED, Standing.SIGNED_OFF)


def within_stay(
    points: Iterable[tuple[date, frozenset[str]]], caregiver: Caregiver, start: date, end: date
) -> Iterator[tuple[date, frozenset[str]]]:
    """The same points, but nothing held on days on which the caregiver is not in the family."""
    line = Line(points)
    stay = [day for day in edges([(caregiver.from_day or date.min, caregiver.through)]) if start < day < end]
    for day in sorted({*line.starts, *stay}):
        yield day, (line.on(day) or frozenset()) if caregiver.is_here(day) else frozenset()


def item_points(item: ItemRule, done: Iterable[ItemDone]) -> list[tuple[date, bool]]:
    """When the item is done and in date, and when not."""
    stretches = sorted(
        (d.on, item.valid_for.after(d.on) if item.valid_for else LAST) for d in done if d.item == item.code
    )
    points: list[tuple[date, bool]] = []
    last: date | None = None
    for on, through in stretches:
        if last is None or on > next_day(last):
            if last is not None:
                points.append((next_day(last), False))
            points.append((on, True))
        last = through if last is None else max(last, through)
    if last is not None and last != LAST:
        points.append((next_day(last), False))
    return points


def verdict_on(missing: Sequence[Missing]) -> Verdict:
    if not missing:
        return Verdict.READY
    return Verdict.READY_BY_EXCEPTION if all(m.excepted for m in missing) else Verdict.NOT_READY
