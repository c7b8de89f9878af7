"""The kinds of documents, and what makes a newer one necessary."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """title: as the public page calls it. moved_by: the family's records that may change it; None for all of them.

    states_plan: whether it says what the care plan of its day says, so that the next entry's first day ends it.
    states: whether it says where somebody stands, or a verdict, so that it runs out when one of those does.
    """

    title: Promise
    moved_by: frozenset[str] | None = None
    states: bool = True
    states_plan: bool = False


_CARE = frozenset({"family", "caregiver", "care_plan"})
_ONE_PERSON = frozenset(
    {
        "family", "caregiver", "care_plan", "authorisation", "demonstration", "certificate", "accepted", "signature",
        "hold", "recheck", "withdrawal",
    }
)  # fmt: skip
_PLAN = frozenset({"family", "care_plan"})

KINDS: Mapping[str, Kind] = {
    "packet": Kind(title=_("Discharge-readiness packet"), states_plan=True),
    "family_copy": Kind(title=_("Family’s copy")),
    "handover": Kind(title=_("Hand-over packet"), states_plan=True),
    "survey": Kind(title=_("Survey file"), states=False),
    "checklist": Kind(title=_("Blank checklist"), moved_by=_CARE, states=False, states_plan=True),
    "emergency_sheet": Kind(title=_("Emergency sheet"), moved_by=_PLAN, states=False, states_plan=True),
    "remaining": Kind(title=_("Remaining-skills sheet"), moved_by=_ONE_PERSON | {"appointment"}),
    "caregiver_record": Kind(title=_("One caregiver’s record"), moved_by=_ONE_PERSON),
}
