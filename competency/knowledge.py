"""What was known at an instant: recorded by then, and not yet voided (design 4.5)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Protocol, TypeVar

from competency.programme import Edition, Facts, Programme, Step
from competency.records import (
    Authorisation,
    Caregiver,
    CarePlanEntry,
    Case,
    Demonstration,
    Exemption,
    ItemDone,
    Qualification,
    Void,
)


class Recorded(Protocol):
    @property
    def id(self) -> str: ...
    @property
    def recorded_at(self) -> datetime: ...


R = TypeVar("R", bound=Recorded)
NOTHING_STATED: Facts = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A family as known: nothing voided, nothing recorded later. The care plan is in the order it took effect."""

    programme: Programme
    qualifications: tuple[Qualification, ...]
    care_plan: tuple[CarePlanEntry, ...]
    authorisations: tuple[Authorisation, ...]
    items: tuple[ItemDone, ...]
    exceptions: tuple[Exemption, ...]
    caregivers: tuple[Caregiver, ...]
    scoring_facts: PlanMemory

    @property
    def first_day(self) -> date | None:
        """The care plan's first day; None while there is no care plan."""
        return self.care_plan[0].on if self.care_plan else None


class PlanMemory:
    """The care plan as it was known at any instant, to score an attempt by what its observer could know."""

    def __init__(self, entries: Iterable[CarePlanEntry], voided_at: Mapping[str, datetime]) -> None:
        self._entries = sorted(entries, key=lambda e: (e.on, e.seconds))
        self._voided_at = voided_at
        self._steps: dict[tuple[str, int, str, int], tuple[Step, ...]] = {}
        self._plain = not any(e.id in voided_at for e in self._entries)

    def _visible(self, entry: CarePlanEntry, at: datetime) -> bool:
        if entry.recorded_at > at:
            return False
        if self._plain:
            return True
        voided = self._voided_at.get(entry.id)
        return voided is None or voided > at

    def first_day(self, at: datetime) -> date | None:
        return next((e.on for e in self._entries if self._visible(e, at)), None)

    def facts(self, day: date, seconds: int, at: datetime) -> Facts:
        """The facts in force at that moment as known at ``at``; none stated where no entry was in force."""
        for entry in reversed(self._entries):
            if (entry.on < day or (entry.on == day and entry.seconds <= seconds)) and self._visible(entry, at):
                return entry.facts
        return NOTHING_STATED

    def facts_for(self, attempt: Demonstration) -> Facts:
        return self.facts(attempt.on, attempt.seconds, attempt.recorded_at)

    def steps_for(self, attempt: Demonstration, edition: Edition) -> tuple[Step, ...]:
        """The steps of an attempt, looked up once for each edition, role and care plan entry."""
        facts = self.facts_for(attempt)
        key = (attempt.skill, edition.number, attempt.role, id(facts))
        found = self._steps.get(key)
        if found is None:
            found = self._steps[key] = edition.steps_for(attempt.role, facts)
        return found


def voided_at(voids: Iterable[Void]) -> dict[str, datetime]:
    """When each voided id was first voided; voiding twice is harmless."""
    first: dict[str, datetime] = {}
    for void in voids:
        if void.record not in first or void.recorded_at < first[void.record]:
            first[void.record] = void.recorded_at
    return first


def as_known(case: Case, at: datetime | None) -> Known:
    """The family as known at ``at``, inclusive; None is with everything ever recorded."""
    voids = voided_at(case.voids)

    def known(things: tuple[R, ...]) -> tuple[R, ...]:
        if at is None:
            return tuple(t for t in things if t.id not in voids) if voids else things
        return tuple(t for t in things if t.recorded_at <= at and not (t.id in voids and voids[t.id] <= at))

    return Known(
        programme=case.programme.as_known(at),
        qualifications=known(case.qualifications),
        care_plan=tuple(sorted(known(case.care_plan), key=lambda e: (e.on, e.seconds))),
        authorisations=known(case.authorisations),
        items=known(case.items),
        exceptions=known(case.exceptions),
        caregivers=tuple(
            c if at is None and not voids else replace(c, records=known(c.records)) for c in case.caregivers
        ),
        scoring_facts=PlanMemory(case.care_plan, voids),
    )
