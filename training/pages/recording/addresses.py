"""Where a draft goes on. Each observer's pass over the steps has addresses of its own."""

from __future__ import annotations

from django.urls import reverse
from django.utils.http import urlencode

from competency.records import Take
from training.standing.drafts import Attempt, Row
from training.standing.models import Draft

_PASSES = {Take.LEAD: ("draft-step", "draft-rest"), Take.SECOND: ("draft-second-step", "draft-second-rest")}


def to(draft: Draft, name: str) -> str:
    return reverse(name, kwargs={"draft": draft.public_id})


def screen_address(draft: Draft, place: int, whose: Take) -> str:
    """One of the steps that are asked one by one."""
    return reverse(_PASSES[whose][0], kwargs={"draft": draft.public_id, "place": place})


def list_address(draft: Draft, whose: Take) -> str:
    """The other steps."""
    return to(draft, _PASSES[whose][1])


def row_address(draft: Draft, attempt: Attempt, row: Row) -> str:
    """Where one step is asked, of the observer whose attempt this is."""
    codes = [r.step.code for r in attempt.screens]
    if row.step.code in codes:
        return screen_address(draft, codes.index(row.step.code) + 1, attempt.whose)
    return f"{list_address(draft, attempt.whose)}?{urlencode({'step': row.step.code})}"


def next_row(attempt: Attempt) -> Row | None:
    """The first step without a result, in the order they are asked: one by one, then the list."""
    return next((row for row in (*attempt.screens, *attempt.rest) if row.result is None), None)


def pass_address(draft: Draft, attempt: Attempt) -> str | None:
    """The first question of one observer's pass without an answer; None once it is whole."""
    row = next_row(attempt)
    if row is None:
        return None
    return list_address(draft, attempt.whose) if row in attempt.rest else row_address(draft, attempt, row)


def draft_address(draft: Draft, attempt: Attempt) -> str:
    """Where the draft goes on: the lead's first question without an answer, then the second's, or the outcome.

    Between the two the tablet is handed over, so the second's first question is never next by itself.
    """
    onward = pass_address(draft, attempt)
    if onward is None and attempt.second is not None and attempt.second.missing:
        has_begun = bool(attempt.second.results)
        onward = pass_address(draft, attempt.second) if has_begun else to(draft, "draft-second")
    return onward or to(draft, "draft")
