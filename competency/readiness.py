"""Whether a family meets the programme's rules to go, or stay, home, with what is missing (design 4.7)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from competency.dates import birthday
from competency.knowledge import Known
from competency.plan import FamilyPlan
from competency.programme import Alternative, ItemRule, Rules
from competency.records import Caregiver, in_force
from competency.standing import Line, Standing, Standings, edges
from competency.team import Person, first_met, holds_set


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
    """The family's team and verdict on any day, and the verdict's line through time."""

    def __init__(self, known: Known, plan: FamilyPlan, standings: dict[str, Standings]) -> None:
        self._known = known
        self._plan = plan
        self._standings = standings
        self._line: Line[Verdict] | None = None
        self._asked_facts = list(self._facts_by_edition())

    # Sets and team ----------------------------------------------------------------------------------------

    def rules(self, day: date) -> Rules | None:
        return self._known.programme.rules_on(day)

    def held_sets(self, caregiver: Caregiver, day: date) -> dict[str, bool]:
        """Every set of the rules in force, and whether this caregiver holds it on ``day``."""
        rules = self.rules(day)
        if rules is None:
            return {}
        here = caregiver.is_here(day)
        standings = self._standings[caregiver.id]
        skills = {skill for set_ in rules.sets.values() for skill in set_}
        standing = {skill: standings.on(skill, day) for skill in skills}
        required = {s for s, what in standing.items() if what not in (None, Standing.NOT_REQUIRED)}
        signed_off = {s for s, what in standing.items() if what is Standing.SIGNED_OFF}
        return {name: here and holds_set(set_, signed_off, required) for name, set_ in rules.sets.items()}

    def people(self, day: date) -> list[Person]:
        """The caregivers who are in the family on ``day``, with the sets they hold."""
        return [
            Person(c.id, c.born, c.is_patient, frozenset(s for s, held in self.held_sets(c, day).items() if held))
            for c in self._known.caregivers
            if c.is_here(day)
        ]

    def team_met_by(self, day: date) -> Alternative | None:
        rules = self.rules(day)
        if rules is None or self._plan.first_day is None or day < self._plan.first_day:
            return None
        return first_met(rules.team, self.people(day), day)

    # What is missing --------------------------------------------------------------------------------------

    def is_done(self, item: ItemRule, day: date) -> bool:
        """Whether the item was done on or before ``day`` and is not out of date."""
        return any(
            done.item == item.code and in_force(done.on, item.valid_for.after(done.on) if item.valid_for else None, day)
            for done in self._known.items
        )

    def unstated_facts(self, day: date) -> list[str]:
        """Facts that a condition of any skill or step in force asks about and the care plan does not state."""
        stated = self._plan.facts_on(day)
        asked: set[str] = set()
        for skill, by_edition in self._asked_facts:
            edition = self._known.programme.skills[skill].in_force(day)
            if edition is not None:
                asked |= by_edition[edition.number]
        return sorted(asked - set(stated))

    def _facts_by_edition(self) -> Iterator[tuple[str, dict[int, frozenset[str]]]]:
        for code, skill in self._known.programme.skills.items():
            by_edition = {}
            for edition in skill.editions:
                conditions = [edition.applies_when, *(step.applies_when for step in edition.steps)]
                by_edition[edition.number] = frozenset(fact for c in conditions for fact, _ in c.allowed)
            if any(by_edition.values()):
                yield code, by_edition

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
        if self._plan.first_day is None or day < self._plan.first_day:
            return None
        return verdict_on(self.missing(day))

    @property
    def line(self) -> Line[Verdict]:
        if self._line is None:
            self._line = Line((day, verdict_on(self.missing(day))) for day in sorted(self._days()))
        return self._line

    def _days(self) -> set[date]:
        """Every day from the first on at which the verdict could change."""
        first = self._plan.first_day
        if first is None:
            return set()
        return {first} | {day for day in self._edges() if day > first}

    def _edges(self) -> Iterator[date]:
        known, programme = self._known, self._known.programme
        yield from (rules.in_force_from for rules in programme.rules)
        yield from (e.in_force_from for skill, _ in self._asked_facts for e in programme.skills[skill].editions)
        yield from (day for day, _ in self._plan.facts)
        yield from edges((x.from_day, x.through) for x in known.exceptions)
        valid = {(i.code, i.valid_for) for rules in programme.rules for i in rules.items}
        for code, period in valid:
            yield from edges((d.on, period.after(d.on) if period else None) for d in known.items if d.item == code)
        skills = {s for rules in programme.rules for set_ in rules.sets.values() for s in set_}
        ages = {p.minimum_age for rules in programme.rules for a in rules.team for p in a.people if p.minimum_age}
        for caregiver in known.caregivers:
            yield from edges([(caregiver.from_day or date.min, caregiver.through)])
            if caregiver.born is not None:
                yield from (birthday(caregiver.born, age) for age in ages)
            for skill in skills:
                yield from self._standings[caregiver.id].line(skill).starts


def verdict_on(missing: Sequence[Missing]) -> Verdict:
    if not missing:
        return Verdict.READY
    return Verdict.READY_BY_EXCEPTION if all(m.excepted for m in missing) else Verdict.NOT_READY
