"""One attempt: what its outcome is (design 4.1)."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import StrEnum

from competency.programme import Step
from competency.records import Demonstration, Result, Results, Stopped


class Outcome(StrEnum):
    CRITICAL = "critical"
    INCOMPLETE = "incomplete"
    NOT_PASSED = "not_passed"
    PASSED = "passed"
    DISPUTED = "disputed"


CRITICAL, INCOMPLETE, NOT_PASSED, PASSED, DISPUTED = Outcome  # quicker than asking the class each time
_HELPED = frozenset({Result.PROMPTED.value, Result.ASSISTED.value, Result.OMITTED.value})
_UNSAFE = Stopped.CAREGIVER.value
_INDEPENDENT = Result.INDEPENDENT.value
_NOT_SEEN = Result.NOT_SEEN.value
_NOT_APPLICABLE = Result.NOT_APPLICABLE.value


def is_outside(step: Step, value: float | None) -> bool:
    """Whether a measured value breaks the step's limits; outside them nothing is independent, whatever was ticked."""
    return value is not None and step.measure is not None and not step.measure.allows(value)


def outcome_of(steps: Sequence[Step], results: Results, *, stopped: str | None, pass_mark: int) -> Outcome:
    """Judge the results of ``steps``, all of which have one.

    pass_mark: whole per cent of applicable steps that must be independent, compared exactly.
    """
    if stopped == _UNSAFE:
        return CRITICAL
    independent = not_alone = unseen = 0
    critical_unseen = False
    for step in steps:
        seen = results[step.code]
        result = seen.result
        outside = seen.value is not None and is_outside(step, seen.value)
        if result == _INDEPENDENT and not outside:
            independent += 1
            continue
        if result == _NOT_APPLICABLE:
            continue
        not_alone += 1
        if step.critical and (outside or result in _HELPED):
            return CRITICAL
        if result == _NOT_SEEN:
            unseen += 1
            critical_unseen = critical_unseen or step.critical
    applicable = independent + not_alone
    if stopped is not None or critical_unseen or not applicable:
        return INCOMPLETE
    if 100 * (independent + unseen) < pass_mark * applicable:
        return NOT_PASSED
    return PASSED if 100 * independent >= pass_mark * applicable else INCOMPLETE


def judge(
    attempt: Demonstration, steps: Sequence[Step], pass_mark: int, *, second_is_qualified: bool, take: str | None
) -> Outcome:
    """The outcome that stands: the lead's, unless a qualified second differs, and then what was resolved."""
    lead = outcome_of(steps, attempt.results, stopped=attempt.stopped, pass_mark=pass_mark)
    if attempt.second is None or not second_is_qualified:
        return lead
    second = outcome_of(steps, attempt.second.results, stopped=attempt.stopped, pass_mark=pass_mark)
    if second is lead:
        return lead
    if take is None:
        return DISPUTED
    return lead if take == "lead" else second


def troubles(steps: Sequence[Step], results: Results) -> Iterator[tuple[Step, str, bool]]:
    """The steps that were not independent: the step, its result, whether a measured value was outside its limits."""
    for step in steps:
        seen = results[step.code]
        outside = is_outside(step, seen.value)
        if outside or seen.result not in (_INDEPENDENT, _NOT_APPLICABLE):
            yield step, seen.result, outside
