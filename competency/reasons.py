"""Why a standing is what it is: every reason, met and unmet, as a code with parameters. Built only when asked for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from competency.course import Cause, Course, Phase
from competency.history import FamilyHistory
from competency.programme import Edition, Need
from competency.records import Result
from competency.scoring import Outcome, outcome_of, troubles
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
        last_day, through = course.clock.last_day, _renewal_through(course, edition, day)
        card = not edition.standard.needs
        yield Reason("lapsed", False, {"last_day": last_day, "renewal_through": through, "card": card})
    elif course.phase is Phase.WITHDRAWN:
        yield Reason("withdrawn", False, {"on": course.withdrawn_on, "card": not edition.standard.needs})
    elif course.wait is not None:
        given = {by for by, signed in course.signatures if signed >= course.wait.completed}
        for by in sorted(course.wait.standard.signatures):
            about = {"by": by, "shown_on": course.wait.completed, "last_day": course.wait.last_day}
            yield Reason("signature", by in given, about)


def _renewal_through(course: Course, edition: Edition, day: date) -> date | None:
    """The last day of grace of what has lapsed; None where a renewal brings it back no more."""
    through = course.clock.plus(edition.standard.grace)
    return through if through is not None and day <= through and edition.standard.renewal else None


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
    if course.open or (course.phase is Phase.LAPSED and _renewal_through(course, edition, day)):
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
        if attempt.skill == course.skill and (course.since is None or attempt.on >= course.since):
            yield from became(history, judged, counts=_served(judged, course))


def _served(judged: Judged, course: Course) -> bool:
    """Whether a pass counts for what the skill needs: renewals and rechecks are not gated."""
    renews = course.phase is Phase.CURRENT or not {"renewed", "closed_recheck"}.isdisjoint(judged.deeds)
    return judged.full or (judged.counts and renews)


def became(history: FamilyHistory, judged: Judged, *, counts: bool) -> Iterator[Reason]:
    """What became of one attempt: its outcome, or each thing that kept it from counting.

    counts: whether it counts for what is asked about; a closed gate keeps a pass only from a full sign-off.
    """
    about: dict[str, Any] = {"record": judged.attempt.id, "on": judged.attempt.on}
    if judged.kept_out and not counts:
        for why in judged.kept_out:
            gate = judged.gate if why == "gate" else ()
            yield Reason("did_not_count", None, {**about, "why": why, "gate": gate})
    elif judged.outcome is Outcome.PASSED:
        yield Reason("passed", True, about)
    else:
        steps = _trouble_steps(history, judged)
        yield Reason(judged.outcome.value, False, {**about, "steps": steps, "stopped": judged.attempt.stopped})


def _trouble_steps(history: FamilyHistory, judged: Judged) -> tuple[str, ...]:
    """The codes of the steps that were not independent, in order, by the observer whose outcome stands.

    A step that nobody saw is a trouble only of an incomplete attempt.
    """
    attempt = judged.attempt
    edition = history.known.programme.skills[attempt.skill].edition(attempt.edition)
    assert edition is not None  # it would not have been judged
    steps = history.known.scoring_facts.steps_for(attempt, edition)
    results, mark = attempt.results, edition.standard.pass_mark
    if attempt.second is not None and judged.outcome is not Outcome.DISPUTED:
        lead = outcome_of(steps, results, stopped=attempt.stopped, pass_mark=mark)
        results = results if lead is judged.outcome else attempt.second.results
    found = troubles(steps, results)
    unseen_too = judged.outcome is Outcome.INCOMPLETE
    return tuple(step.code for step, seen, outside in found if outside or unseen_too or seen != Result.NOT_SEEN)


__all__ = ["Cause", "Reason", "became", "gate_reasons", "need_reason", "reasons"]
