"""Why a standing is what it is: every reason, met and unmet, as a code with parameters. Built only when asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from competency.course import Cause, Course, Phase
from competency.history import FamilyHistory
from competency.programme import Edition, Need
from competency.scoring import Outcome, troubles
from competency.standing import Standing
from competency.sweep import Judged, Sweep
from competency.tally import is_met, tally


@dataclass(frozen=True, slots=True)
class Reason:
    """A stable code, whether what it names is met (None where that makes no sense), and its parameters."""

    code: str
    met: bool | None = None
    about: dict[str, Any] = field(default_factory=dict)

    def as_json(self) -> dict[str, Any]:
        return {"code": self.code, "met": self.met, **{k: _plain(v) for k, v in self.about.items()}}


def _plain(value: Any) -> Any:
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, frozenset | tuple | list):
        return sorted(value) if isinstance(value, frozenset) else [_plain(v) for v in value]
    return value


def reasons(history: FamilyHistory, day: date, sweep: Sweep, skill: str) -> list[Reason]:
    """Why ``skill`` stands as it does at the end of ``day``. sweep: from `FamilyHistory.at_end_of` for that day.

    The order is that of use: what decides the standing first, what is still needed, what holds it, then attempts.
    """
    standing = history.standings[sweep.caregiver.id].on(skill, day)
    if standing is None:
        return [Reason("no_care_plan", False)]
    course = sweep.courses[skill]
    if standing is Standing.NOT_REQUIRED or course.edition is None:
        return [_not_required(history, day, course)]
    return [
        *_clock(course, day),
        *_way_there(sweep, course, day),
        *_what_makes_unusable(sweep, course, day),
        *_attempts(history, sweep, course),
    ]


def _not_required(history: FamilyHistory, day: date, course: Course) -> Reason:
    if course.edition is None:
        return Reason("no_edition", None)
    facts = tuple(course.edition.applies_when.refused_by(history.plan.facts_on(day)))
    return Reason("care_plan_does_not_call", None, {"facts": facts})


def _clock(course: Course, day: date) -> Iterator[Reason]:
    edition = course.edition
    assert edition is not None
    if course.phase is Phase.CURRENT:
        yield Reason("signed_off", True, {"on": course.since, "last_day": course.clock.last_day})
    elif course.phase is Phase.LAPSED:
        through = course.clock.plus(edition.standard.grace)
        by_renewal = through is not None and day <= through and bool(edition.standard.renewal)
        about: dict[str, Any] = {"last_day": course.clock.last_day, "renewal_through": through if by_renewal else None}
        yield Reason("lapsed", False, about)
    elif course.phase is Phase.WITHDRAWN:
        yield Reason("withdrawn", False, {"on": course.withdrawn_on})
    elif course.wait is not None:
        given = {by for by, signed in course.signatures if signed >= course.wait.completed}
        for by in sorted(course.wait.standard.signatures):
            about = {"by": by, "shown_on": course.wait.completed, "last_day": course.wait.last_day}
            yield Reason("signature", by in given, about)


def _way_there(sweep: Sweep, course: Course, day: date) -> Iterator[Reason]:
    """The tallies still to be filled, and the gate."""
    edition = course.edition
    assert edition is not None
    standard = edition.standard
    if course.phase in (Phase.LEARNING, Phase.LAPSED, Phase.WITHDRAWN):
        if not standard.needs:
            yield Reason("certificate", False)
        for need in standard.needs:
            yield need_reason(course, edition, need, "needs", max(course.floor, course.hard_floor), full=True)
        yield from gate_reasons(sweep, course, day)
    if course.phase is Phase.LAPSED or course.open:
        for need in standard.renewal:
            after = max(course.renewal_floor, course.hard_floor)
            if course.open:
                after = max(max(r.opened for r in course.open), course.hard_floor)
            yield need_reason(course, edition, need, "renewal", after, full=False)


def need_reason(course: Course, edition: Edition, need: Need, code: str, after: int, *, full: bool) -> Reason:
    """How far one need is filled by the passes after a floor."""
    restart = edition.standard.restart_after_failure
    found = tally(need, course.passes, course.failures, after=after, restart=restart, full=full)
    about = {
        "have": len(found),
        "of": need.passes,
        "days": need.days,
        "days_have": len({p.on for p in found}),
        "observers": need.observers,
        "observers_have": len({p.observer for p in found}),
        "places": need.places,
        "places_have": len({p.place for p in found}),
        "within": need.within is not None,
        "setting": need.setting or frozenset(),
        "role": need.role or frozenset(),
        "mode": need.mode or frozenset(),
        "place": need.place or frozenset(),
        "last_on": found[-1].on if found else None,
    }
    return Reason(code, is_met(need, found), about)


def gate_reasons(sweep: Sweep, course: Course, day: date) -> Iterator[Reason]:
    """Each prerequisite of a skill, open or closed."""
    edition = course.edition
    for prerequisite in edition.requires if edition is not None else ():
        if not sweep.courses[prerequisite.skill].required:
            yield Reason("gate_waived", True, {"skill": prerequisite.skill})
            continue
        is_open = sweep.opens(prerequisite, day)
        stale = not is_open and sweep.is_signed_off(sweep.courses[prerequisite.skill], day)
        yield Reason("gate", is_open, {"skill": prerequisite.skill, "too_long_ago": stale})


def _what_makes_unusable(sweep: Sweep, course: Course, day: date) -> Iterator[Reason]:
    edition = course.edition
    assert edition is not None
    if edition.needs_authorisation:
        yield Reason("authorisation", sweep.is_authorised(course.skill, day))
    for hold in sweep.holds_on(course.skill, day):
        yield Reason("hold", False, {"record": hold.id, "on": hold.on, "through": hold.through})
    for recheck in course.open:
        about = {"cause": recheck.cause.value, "on": recheck.on, "fact": recheck.fact, "record": recheck.record}
        yield Reason("recheck", False, about)
    for pending in course.pending:
        about = {"cause": pending.cause.value, "opens_on": pending.opens_on, "fact": pending.fact}
        yield Reason("recheck_due", None, about)
    if course.phase is Phase.CURRENT:
        for prerequisite in edition.requires:
            other = sweep.courses[prerequisite.skill]
            if not prerequisite.only_to_learn and other.required:
                yield Reason("prerequisite", sweep.is_signed_off(other, day), {"skill": prerequisite.skill})


def _attempts(history: FamilyHistory, sweep: Sweep, course: Course) -> Iterator[Reason]:
    """The attempts that moved nothing or moved it back since the last sign-off, newest first."""
    for judged in reversed(sweep.judged.values()):
        attempt = judged.attempt
        if attempt.skill != course.skill or (course.since is not None and attempt.on < course.since):
            continue
        about = {"record": attempt.id, "on": attempt.on}
        if judged.outcome is Outcome.PASSED:
            if judged.kept_out and not _served(judged, course):
                yield Reason("did_not_count", False, {**about, "why": judged.kept_out, "gate": judged.gate})
            else:
                yield Reason("passed", True, about)
        elif judged.kept_out:
            yield Reason("did_not_count", None, {**about, "why": judged.kept_out, "gate": ()})
        else:
            yield Reason(judged.outcome.value, False, {**about, "steps": trouble_steps(history, judged)})


def _served(judged: Judged, course: Course) -> bool:
    """Whether a pass counts for what the skill needs: renewals and rechecks are not gated."""
    renews = course.phase is Phase.CURRENT or not {"renewed", "closed_recheck"}.isdisjoint(judged.deeds)
    return judged.full or (judged.counts and renews)


def trouble_steps(history: FamilyHistory, judged: Judged) -> tuple[str, ...]:
    """The codes of the steps that were not independent in an attempt, in order; the lead observer's word."""
    attempt = judged.attempt
    edition = history.known.programme.skills[attempt.skill].edition(attempt.edition)
    if edition is None:
        return ()
    steps = edition.steps_for(attempt.role, history.known.scoring_facts.facts_for(attempt))
    return tuple(step.code for step, _, _ in troubles(steps, attempt.results))


__all__ = ["Cause", "Reason", "gate_reasons", "need_reason", "reasons", "trouble_steps"]
