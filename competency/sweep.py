"""One caregiver's events fed to the courses in their order (design 4.3), with gates, holds and counting."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from operator import itemgetter

from competency.course import CURRENT, Course
from competency.dates import LAST
from competency.knowledge import Known
from competency.plan import EditionStarts, FamilyPlan, Moment, PlanChanges
from competency.programme import Edition, Effect, Facts, Prerequisite, Setting
from competency.records import (
    Acceptance,
    Caregiver,
    Certificate,
    Demonstration,
    Hold,
    Override,
    Purpose,
    Qualification,
    RecheckCall,
    Resolution,
    Signature,
    Withdrawal,
    in_force,
)
from competency.scoring import CRITICAL, NOT_PASSED, PASSED, Outcome, judge
from competency.tally import Attempt

_PRACTICE, _PATIENT = Purpose.PRACTICE.value, Setting.PATIENT.value
_RANK = {RecheckCall: 2, Withdrawal: 4, Certificate: 5, Acceptance: 6, Signature: 7, Demonstration: 8}


@dataclass(slots=True, kw_only=True)  # made once for every attempt; frozen would cost three times as much
class Judged:
    """What became of one attempt.

    outcome: the one that stands. counts: toward renewals and rechecks; full: toward a full sign-off too.
    kept_out: codes of what kept a pass from counting: practice, observer, edition, authorisation, gate (the last
    only from a full sign-off), each lifted by an override where one may. gate: the prerequisites missing then.
    deeds: what it brought about: signed_off, awaits_signatures, renewed, closed_recheck, opened_recheck, wait_ended.
    """

    attempt: Demonstration
    outcome: Outcome
    counts: bool = False
    full: bool = False
    overridden: bool = False
    kept_out: tuple[str, ...] = ()
    gate: tuple[str, ...] = ()
    deeds: tuple[str, ...] = ()


class Observers:
    """Who was qualified to assess what on which day."""

    def __init__(self, qualifications: Iterable[Qualification]) -> None:
        self._by_observer: dict[str, list[Qualification]] = {}
        for q in qualifications:
            self._by_observer.setdefault(q.observer, []).append(q)

    def is_qualified(self, observer: str, skill: str, day: date) -> bool:
        for q in self._by_observer.get(observer, ()):
            if (q.skill is None or q.skill == skill) and in_force(q.from_day, q.through, day):
                return True
        return False


def edition_is_acceptable(editions: Iterable[Edition], number: int, day: date) -> bool:
    """Whether an attempt on this edition counts on ``day``: every newer edition in force says so (design 4.5)."""
    for newer in editions:
        if newer.number <= number or newer.in_force_from > day:
            continue
        if newer.older.effect is Effect.RECHECK:
            return False
        if newer.older.effect is Effect.RECHECK_BY and newer.older.by is not None and day > newer.older.by:
            return False
    return True


class Sweep:
    """Feeds one caregiver's records, with the family's plan, to a course for each skill.

    until: the last day whose events are fed; None feeds everything and lets every clock run out.
    """

    def __init__(
        self, known: Known, plan: FamilyPlan, observers: Observers, caregiver: Caregiver, *, until: date | None = None
    ) -> None:
        self.known = known
        self.plan = plan
        self.observers = observers
        self.caregiver = caregiver
        self.courses = {code: Course(code) for code in known.programme.skills}
        self.judged: dict[str, Judged] = {}
        self.stated: Facts = {}
        self._place = 0
        self._gates: dict[str, list[Prerequisite] | None] = {}
        self._holds: dict[str | None, list[Hold]] = {}
        self._holds_of: dict[str, list[Hold]] = {}
        self._takes: dict[str, Resolution] = {}
        self._overrides: set[str] = set()
        self._run(until)

    # Order ------------------------------------------------------------------------------------------------

    def _events(self, until: date | None) -> list[tuple[Moment, object]]:
        events: list[tuple[Moment, object]] = [(e.moment, e) for e in self.plan.events]
        for record in self.caregiver.records:
            rank = _RANK.get(type(record))
            if rank is not None:
                events.append(((record.on, record.seconds, rank, record.id), record))  # type: ignore[union-attr]
            elif isinstance(record, Hold):
                self._holds.setdefault(record.skill, []).append(record)
            elif isinstance(record, Override):
                self._overrides.add(record.record)
            elif isinstance(record, Resolution):
                self._resolve(record)
        if until is not None:
            events = [e for e in events if e[0][0] <= until]
        events.sort(key=itemgetter(0))
        return events

    def _resolve(self, resolution: Resolution) -> None:
        """The last recorded stands; the id decides between two of one instant."""
        other = self._takes.get(resolution.record)
        if other is None or (other.recorded_at, other.id) < (resolution.recorded_at, resolution.id):
            self._takes[resolution.record] = resolution

    def _run(self, until: date | None) -> None:
        events = self._events(until)
        began = sorted(
            (e.began, e.id, e.skill) for _, e in events if isinstance(e, Demonstration) and e.began is not None
        )
        for moment, event in events:
            day = moment[0]
            while began and began[0][0] < day:
                self._remember_gate(*began.pop(0))
            self._place += 1
            self._feed(event, day)
        self._place += 1
        for course in self.courses.values():
            course.advance(until or LAST, self._place)

    def _remember_gate(self, day: date, attempt: str, skill: str) -> None:
        self._place += 1
        in_force_then = self.courses[skill].edition is not None
        self._gates[attempt] = self.closed_gates(skill, day) if in_force_then else None

    def _feed(self, event: object, day: date) -> None:
        place = self._place
        if isinstance(event, Demonstration):
            self._demonstration(event)
        elif isinstance(event, EditionStarts):
            self.courses[event.skill].edition_starts(event, place)
        elif isinstance(event, PlanChanges):
            self.stated = event.stated
            for course in self.courses.values():
                if event.changed or event.is_first or course.required is not event.required.get(course.skill, False):
                    course.plan_changes(event, place)
        elif isinstance(event, RecheckCall):
            for code in [event.skill] if event.skill is not None else list(self.courses):
                self.courses[code].call_recheck(event.id, day, place)
        elif isinstance(event, Withdrawal):
            self.courses[event.skill].withdraw(day, place)
        elif isinstance(event, Certificate):
            self.courses[event.skill].certify(day, event.through, place, self.stated)
        elif isinstance(event, Acceptance):
            self.courses[event.skill].accept(day, event.last_day, place, self.stated)
        elif isinstance(event, Signature):
            self.courses[event.skill].sign(event.by, day, place, self.stated)

    # One attempt ------------------------------------------------------------------------------------------

    def _demonstration(self, d: Demonstration) -> None:
        course = self.courses[d.skill]
        course.attempt(d.on, self._place)
        edition = self.known.programme.skills[d.skill].edition(d.edition)
        if edition is None:
            return  # on an edition that was not yet published at the instant asked about
        take = self._takes.get(d.id)
        outcome = judge(
            d,
            self.known.scoring_facts.steps_for(d, edition),
            edition.standard.pass_mark,
            second_is_qualified=d.second is not None and self.observers.is_qualified(d.second.observer, d.skill, d.on),
            take=take.take if take else None,
        )
        if d.purpose == _PRACTICE:
            self.judged[d.id] = Judged(attempt=d, outcome=outcome, kept_out=("practice",))
            return
        if not self.observers.is_qualified(d.observers[0], d.skill, d.on):
            self.judged[d.id] = Judged(attempt=d, outcome=outcome, kept_out=("observer",))
            return
        course.deeds.clear()
        if outcome is PASSED:
            self.judged[d.id] = self._passed(course, d)
            return
        if outcome in (CRITICAL, NOT_PASSED):
            course.failed(self._attempt(d), critical=outcome is CRITICAL)
        self.judged[d.id] = Judged(attempt=d, outcome=outcome, deeds=tuple(course.deeds))

    def _attempt(self, d: Demonstration, *, full: bool = False) -> Attempt:
        return Attempt(self._place, d.id, d.on, d.edition, d.setting, d.role, d.mode, d.place, d.observers[0], full)

    def _passed(self, course: Course, d: Demonstration) -> Judged:
        kept_out: list[str] = []
        gates: list[Prerequisite] | None = []
        if not edition_is_acceptable(self.known.programme.skills[d.skill].editions, d.edition, d.on):
            kept_out.append("edition")
        if d.setting == _PATIENT:
            in_force_now = course.edition
            if in_force_now is not None and in_force_now.needs_authorisation and not self.is_authorised(d.skill, d.on):
                kept_out.append("authorisation")
            gates = self._gates.pop(d.id) if d.id in self._gates else self.closed_gates(d.skill, d.on)
        overridden = d.id in self._overrides
        counts = overridden or not kept_out
        is_open = gates == []
        full = counts and (overridden or is_open)
        if not is_open:
            kept_out.append("gate")
        if counts:
            course.passed(self._attempt(d, full=full), self.stated)
        return Judged(
            attempt=d,
            outcome=PASSED,
            counts=counts,
            full=full,
            overridden=overridden,
            kept_out=tuple(kept_out),
            gate=tuple([p.skill for p in gates]) if gates else (),
            deeds=tuple(course.deeds),
        )

    # Gates, holds, standing at this moment of the sweep ---------------------------------------------------

    def is_authorised(self, skill: str, day: date) -> bool:
        return self.plan.is_authorised(skill, day)

    def holds_of(self, skill: str) -> list[Hold]:
        """The holds on this skill, or on all, whenever they are in force; by first day."""
        if not self._holds:
            return []
        found = self._holds_of.get(skill)
        if found is None:
            both = [*self._holds.get(skill, ()), *self._holds.get(None, ())]
            both.sort(key=lambda h: (h.on, h.id))
            found = self._holds_of[skill] = both
        return found

    def is_on_hold(self, skill: str, day: date) -> bool:
        for hold in self.holds_of(skill):
            if in_force(hold.on, hold.through, day):
                return True
        return False

    def holds_on(self, skill: str, day: date) -> list[Hold]:
        """Holds in force on ``day`` for this skill or for all."""
        return [h for h in self.holds_of(skill) if in_force(h.on, h.through, day)]

    def closed_gates(self, skill: str, day: date) -> list[Prerequisite]:
        """The prerequisites that keep the gate of ``skill`` closed at this moment of ``day``."""
        edition = self.courses[skill].edition
        if edition is None or not edition.requires:
            return []
        return [p for p in edition.requires if not self.opens(p, day)]

    def opens(self, prerequisite: Prerequisite, day: date) -> bool:
        """Whether this prerequisite leaves the gate open: waived, or signed off and shown recently enough."""
        course = self.courses[prerequisite.skill]
        if not course.required:
            return True
        if not self.is_signed_off(course, day):
            return False
        if prerequisite.within is None:
            return True
        return course.latest is not None and day <= prerequisite.within.after(course.latest)

    def is_signed_off(self, course: Course, day: date) -> bool:
        """Current and usable at this moment of ``day``."""
        course.advance(day, self._place)
        return course.phase is CURRENT and course.required and not self.is_held(course, day)

    def is_held(self, course: Course, day: date) -> bool:
        """Whether something makes a current skill unusable at this moment."""
        if course.open or self.is_on_hold(course.skill, day):
            return True
        edition = course.edition
        if edition is None:
            return False
        if edition.needs_authorisation and not self.is_authorised(course.skill, day):
            return True
        for prerequisite in edition.requires:
            if prerequisite.only_to_learn:
                continue
            other = self.courses[prerequisite.skill]
            if other.required and not self.is_signed_off(other, day):
                return True
        return False
