"""Nobody watches, takes over, signs for or decides about themself, whichever place they do it from.

The rules know ids alone, and a member's differs from a caregiver's. Here it is asked whose account they are.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from competency.fields import Problem
from training.people.models import Caregiver, Member
from training.standing.file import FamilyFile

SIGNED = "is signed by the caregiver themself; somebody else has to"
WATCHED = "is the caregiver themself; name another observer"
# What lets a caregiver do more alone. Asking to see it again, a hold and a withdrawal anybody may sign for themself.
FOR_SOMEBODY = frozenset({"demonstration", "accepted", "certificate", "signature", "override", "resolution"})


def problems(file: FamilyFile, kind: str, body: Mapping[str, Any]) -> Iterator[Problem]:
    """What is wrong with a record, with its signature, in which a caregiver's own account stands for staff."""
    if kind not in FOR_SOMEBODY:
        return
    own = _member_ids(file, _caregiver(file, body))
    for path, observer in _watched(body) if kind == "demonstration" else ():
        if observer in own:
            yield Problem(path, WATCHED)
    signer = (body.get("signed") or {}).get("id")  # a form that only asks has none yet
    if signer in own and not (kind == "signature" and body.get("by") == "caregiver"):
        yield Problem("signed", SIGNED)


def _watched(body: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    observers = body.get("observers")
    yield from ((f"observers[{n}]", o) for n, o in enumerate(observers if isinstance(observers, list) else ()))
    if isinstance(body.get("second"), dict):
        yield "second.observer", body["second"].get("observer")


def _caregiver(file: FamilyFile, body: Mapping[str, Any]) -> Caregiver | None:
    """Whom it is about: named in the record, or in the one that is decided about."""
    record = file.record(str(body.get("record"))) if "record" in body else None
    named = record.data.get("caregiver") if record is not None else body.get("caregiver")
    return next((c for c in file.caregivers if c.case_id == named), None)


def _member_ids(file: FamilyFile, caregiver: Caregiver | None) -> set[str]:
    """How records name the member whose account is this caregiver's; nobody where there is none."""
    if caregiver is None or caregiver.user_id is None:
        return set()
    rows = Member.objects.filter(organisation=file.family.organisation_id, user=caregiver.user_id)
    return {m.observer_id for m in rows}
