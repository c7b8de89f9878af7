"""A family worked out: every standing, set and verdict through time, for one knowledge of it. Start reading here."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property

from competency.course import Course, Phase
from competency.knowledge import as_known
from competency.plan import FamilyPlan
from competency.readiness import Readiness
from competency.records import Caregiver, Case
from competency.standing import Line, Span, Standing, Standings
from competency.sweep import Observers, Sweep


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillOn:
    """Where one caregiver is in one skill at the end of one day.

    span: the span that contains the day, None before the care plan's first day. last_day: of the sign-off's own
    clock; None where it has none. may_practise: on the patient, under a clinician's eye.
    """

    skill: str
    span: Span[Standing] | None
    last_day: date | None
    may_practise: bool
    asked: bool


class FamilyHistory:
    """Everything that follows from a case as known at one instant (None: everything ever recorded)."""

    def __init__(self, case: Case, known_at: datetime | None = None) -> None:
        self.known = as_known(case, known_at)
        self.plan = FamilyPlan(self.known)
        self.observers = Observers(self.known.qualifications)
        self.caregivers: dict[str, Caregiver] = {c.id: c for c in self.known.caregivers}

    @cached_property
    def sweeps(self) -> dict[str, Sweep]:
        """Each caregiver's whole course of events, with every clock run out."""
        return {id_: Sweep(self.known, self.plan, self.observers, c) for id_, c in self.caregivers.items()}

    @cached_property
    def standings(self) -> dict[str, Standings]:
        return {id_: Standings(self.plan, sweep) for id_, sweep in self.sweeps.items()}

    @cached_property
    def readiness(self) -> Readiness:
        return Readiness(self.known, self.plan, self.standings)

    def line(self, caregiver: str, skill: str) -> Line[Standing]:
        return self.standings[caregiver].line(skill)

    def at_end_of(self, day: date, caregiver: str) -> Sweep:
        """The caregiver's courses as they stand at the end of ``day``, nothing later fed to them."""
        return Sweep(self.known, self.plan, self.observers, self.caregivers[caregiver], until=day)

    def skill_on(self, day: date, sweep: Sweep, skill: str) -> SkillOn:
        """Where a caregiver is in ``skill``; sweep: from `at_end_of` for the same day."""
        span = self.line(sweep.caregiver.id, skill).span(day)
        course = sweep.courses[skill]
        known = span is not None
        return SkillOn(
            skill=skill,
            span=span,
            last_day=course.clock.last_day if known and course.phase in (Phase.CURRENT, Phase.LAPSED) else None,
            may_practise=known and self.may_practise(day, sweep, course),
            asked=self.is_asked(sweep.caregiver, skill, day),
        )

    def may_practise(self, day: date, sweep: Sweep, course: Course) -> bool:
        """On the patient, under a clinician's eye: required, authorised, no hold, and the way there open."""
        edition = course.edition
        if edition is None or not course.required or sweep.is_on_hold(course.skill, day):
            return False
        if edition.needs_authorisation and not sweep.is_authorised(course.skill, day):
            return False
        if course.phase is Phase.CURRENT:
            return True
        if course.phase is Phase.LAPSED:
            grace_end = course.clock.plus(edition.standard.grace)
            if grace_end is not None and day <= grace_end:
                return True
        return not sweep.closed_gates(course.skill, day)

    def is_asked(self, caregiver: Caregiver, skill: str, day: date) -> bool:
        """Whether one of the caregiver's agreed sets holds the skill by the rules in force on ``day``."""
        rules = self.readiness.rules(day)
        return rules is not None and any(skill in rules.sets.get(name, ()) for name in caregiver.sets)
