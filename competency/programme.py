"""What an organisation asks for: skills, their editions, standards, sets, team rules and items. All dated."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from enum import StrEnum
from functools import cached_property

from competency.dates import Period

FactValue = bool | int | float | str
Facts = Mapping[str, str]
"""Facts of the care plan by name, each value as `fact_key` writes it."""


class Evidence(StrEnum):
    DEMONSTRATION = "demonstration"
    CERTIFICATE = "certificate"


class Setting(StrEnum):
    MODEL = "model"
    SIMULATION = "simulation"
    PATIENT = "patient"


class Role(StrEnum):
    LEAD = "lead"
    ASSIST = "assist"


class Mode(StrEnum):
    IN_PERSON = "in_person"
    REMOTE = "remote"


class Place(StrEnum):
    HOSPITAL = "hospital"
    HOME = "home"
    SCHOOL = "school"
    OUT = "out"


class Signer(StrEnum):
    CAREGIVER = "caregiver"
    EDUCATOR = "educator"


class Effect(StrEnum):
    """What a change does to what was shown before it."""

    STAND = "stand"
    RECHECK = "recheck"
    RECHECK_BY = "recheck_by"
    RESTART = "restart"


def fact_key(value: FactValue) -> str:
    """Write a fact's value so that equal values, and only those, are equal: 5 is 5.0, but true is not 1."""
    if isinstance(value, bool):
        return "b:true" if value else "b:false"
    if isinstance(value, str):
        return f"s:{value}"
    return f"n:{float(value)!r}"


@dataclass(frozen=True, slots=True)
class Condition:
    """Facts and the values each may have; all must fit. A fact not stated fits: unknown is never "not needed"."""

    allowed: tuple[tuple[str, frozenset[str]], ...] = ()

    def is_met(self, facts: Facts) -> bool:
        for fact, values in self.allowed:
            stated = facts.get(fact)
            if stated is not None and stated not in values:
                return False
        return True

    def refused_by(self, facts: Facts) -> Iterator[str]:
        """The facts whose stated value does not fit."""
        for fact, values in self.allowed:
            stated = facts.get(fact)
            if stated is not None and stated not in values:
                yield fact


ALWAYS = Condition()


def as_limit(key: str) -> float | None:
    """The number that a fact's key states; None where it states a text, true or false."""
    return float(key[2:]) if key.startswith("n:") else None


def _ordered(fact: str | None, facts: Facts) -> float | None:
    stated = facts.get(fact) if fact is not None else None
    return as_limit(stated) if stated is not None else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Measure:
    """Limits of a measured step, inclusive, in ``unit``. None is no limit on that side.

    low_from, high_from: the care plan facts that state the prescriber's own limit, in the same unit, if any does.
    is_ordered: whether such a fact was stated, and gave at least one of the limits.
    """

    unit: str
    low: float | None = None
    high: float | None = None
    low_from: str | None = None
    high_from: str | None = None
    is_ordered: bool = False

    def fitted(self, facts: Facts) -> Measure:
        """The limits for this patient: the order's where one is stated, else the programme's own.

        An own limit that contradicts the order on the other side falls away.
        """
        low, high = _ordered(self.low_from, facts), _ordered(self.high_from, facts)
        if low is None and high is None:
            return self
        if low is None:
            low = self.low if self.low is None or high is None or self.low <= high else None
        elif high is None:
            high = self.high if self.high is None or low <= self.high else None
        return replace(self, low=low, high=high, is_ordered=True)

    def allows(self, value: float) -> bool:
        return (self.low is None or self.low <= value) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One line of a checklist. A critical step may not be skipped."""

    code: str
    critical: bool = False
    may_skip: bool = False
    roles: frozenset[str] | None = None
    applies_when: Condition = ALWAYS
    measure: Measure | None = None

    def fitted(self, facts: Facts) -> Step:
        """The step with the limits that hold under these facts."""
        if self.measure is None:
            return self
        measure = self.measure.fitted(facts)
        return self if measure is self.measure else replace(self, measure=measure)


@dataclass(frozen=True, slots=True, kw_only=True)
class Need:
    """How many counted passes, of which kind, on how many days, by how many lead observers, in how many places.

    The four filters (setting, role, mode, place) choose which attempts this need looks at; None looks at all.
    within: when given, all of it must be found from some pass's day through that day + within.
    """

    passes: int = 1
    days: int = 1
    observers: int = 1
    places: int = 1
    within: Period | None = None
    setting: frozenset[str] | None = None
    role: frozenset[str] | None = None
    mode: frozenset[str] | None = None
    place: frozenset[str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Standard:
    """What it takes to be signed off, and for how long it holds.

    renewal: the needs of a renewal, each with the first need's filter wherever it names none of its own.
    valid_for: None never lapses. first_valid_for: after a full sign-off, in place of valid_for.
    grace: None is no way back by renewal once lapsed (only where valid_for, its default, is None too).
    """

    evidence: Evidence = Evidence.DEMONSTRATION
    needs: tuple[Need, ...] = ()
    renewal: tuple[Need, ...] = ()
    restart_after_failure: bool = True
    pass_mark: int = 100
    valid_for: Period | None = None
    first_valid_for: Period | None = None
    to_month_end: bool = False
    grace: Period | None = None
    signatures: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class Prerequisite:
    """A skill to be signed off in first. only_to_learn: gates the way there, holds nothing afterwards."""

    skill: str
    within: Period | None = None
    only_to_learn: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """What a change of a fact does; period only with RECHECK_BY."""

    effect: Effect
    period: Period | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Older:
    """What an edition does to older sign-offs; by only with RECHECK_BY."""

    effect: Effect = Effect.STAND
    by: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """All that is published about a skill from a day on."""

    number: int
    in_force_from: date
    recorded_at: datetime
    older: Older = Older()
    applies_when: Condition = ALWAYS
    needs_authorisation: bool = False
    requires: tuple[Prerequisite, ...] = ()
    on_change: Mapping[str, Change] = field(default_factory=dict)
    standard: Standard = Standard()
    steps: tuple[Step, ...] = ()

    @property
    def asks(self) -> frozenset[str]:
        """The facts that this edition's conditions ask about."""
        conditions = (self.applies_when, *(step.applies_when for step in self.steps))
        return frozenset(fact for condition in conditions for fact, _ in condition.allowed)

    @property
    def ordered(self) -> frozenset[str]:
        """The facts that limits of its steps are taken from."""
        measures = [step.measure for step in self.steps if step.measure is not None]
        return frozenset(fact for m in measures for fact in (m.low_from, m.high_from) if fact is not None)

    def steps_for(self, role: str, facts: Facts) -> tuple[Step, ...]:
        """The steps of an attempt in this role under these facts, in order, with the limits that hold under them."""
        return tuple(
            [
                step.fitted(facts)
                for step in self.steps
                if (step.roles is None or role in step.roles)
                and (step.applies_when is ALWAYS or step.applies_when.is_met(facts))
            ]
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Skill:
    """A skill and its editions, oldest first; numbers and first days both rise."""

    code: str
    editions: tuple[Edition, ...]

    @property
    def evidence(self) -> Evidence:
        return self.editions[0].standard.evidence

    def edition(self, number: int) -> Edition | None:
        for edition in self.editions:
            if edition.number == number:
                return edition
        return None

    def in_force(self, day: date) -> Edition | None:
        """The newest edition in force on ``day``."""
        found = None
        for edition in self.editions:
            if edition.in_force_from <= day:
                found = edition
        return found


@dataclass(frozen=True, slots=True, kw_only=True)
class People:
    """So many people who hold a set, each of at least this age in years where given."""

    set: str
    count: int
    minimum_age: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """One way to meet the team rule."""

    name: str
    people: tuple[People, ...]
    patient_alone: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemRule:
    """Something to be in place besides training; valid_for None never goes out of date."""

    code: str
    valid_for: Period | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Rules:
    """Sets, team and items from a day on."""

    in_force_from: date
    recorded_at: datetime
    sets: Mapping[str, tuple[str, ...]]
    team: tuple[Alternative, ...]
    items: tuple[ItemRule, ...]


@dataclass(frozen=True, kw_only=True)
class Programme:
    """An organisation's skills by code, in its own order, and its dated rules, oldest first."""

    code: str
    skills: Mapping[str, Skill]
    rules: tuple[Rules, ...]

    def as_known(self, at: datetime | None) -> Programme:
        """The programme as it had been published by ``at``; None is all of it."""
        if at is None:
            return self
        skills = {
            code: Skill(code=code, editions=tuple(e for e in skill.editions if e.recorded_at <= at))
            for code, skill in self.skills.items()
        }
        return Programme(code=self.code, skills=skills, rules=tuple(r for r in self.rules if r.recorded_at <= at))

    def epochs(self, first: date) -> Iterator[tuple[date, date, Rules | None]]:
        """From ``first`` on: each stretch of days with the rules in force in it. The end is the day after the last."""
        starts = [first, *sorted({r.in_force_from for r in self.rules if r.in_force_from > first})]
        for start, end in zip(starts, [*starts[1:], date.max], strict=True):
            yield start, end, self.rules_on(start)

    @cached_property
    def asked_facts(self) -> Mapping[date, frozenset[str]]:
        """The facts that conditions of skills or steps ask about, by the day from which the editions in force do."""
        days = sorted({e.in_force_from for skill in self.skills.values() for e in skill.editions})
        return {day: frozenset().union(*(e.asks for e in self._in_force(day))) for day in days}

    def _in_force(self, day: date) -> Iterator[Edition]:
        for skill in self.skills.values():
            edition = skill.in_force(day)
            if edition is not None:
                yield edition

    def facts_asked_on(self, day: date) -> frozenset[str]:
        """The facts that conditions of any skill or step in force on ``day`` ask about."""
        found: frozenset[str] = frozenset()
        for start, facts in self.asked_facts.items():
            if start > day:
                break
            found = facts
        return found

    def rules_on(self, day: date) -> Rules | None:
        """The newest rules in force on ``day``."""
        found = None
        for rules in self.rules:
            if rules.in_force_from <= day:
                found = rules
        return found
