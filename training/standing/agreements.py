"""What a caregiver has agreed to: that others in the family may see which skills they are ready for. Off until said,
and taken back at any time. The last word counts; where that one was voided, nothing is agreed.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from competency.fields import Problem
from competency.standing import Standing
from training.curriculum.words import SkillWords
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.sanity import Asked, voided_in

if TYPE_CHECKING:
    from training.standing.questions import FamilyOn


def judge(asked: Asked) -> Iterator[Problem]:
    """Nobody agrees for a caregiver but the caregiver, and from now on, not before."""
    yield from asked.caregiver()
    if asked.body["signed"]["id"] != asked.body.get("caregiver"):
        yield Problem("caregiver", "is not who signs it; only they agree for themself")
    if not isinstance(asked.body.get("agreed"), bool):
        yield Problem("agreed", "is neither yes nor no")
    if asked.day("on") != asked.today:
        yield Problem("on", "is not today where the patient is")


def agreed_since(records: Iterable[Record], caregiver: str) -> date | None:
    """Since when others in the family may see what this caregiver is ready for; None where they may not."""
    rows = list(records)
    theirs = [r for r in rows if r.kind == "agreement" and r.data["caregiver"] == caregiver]
    if not theirs or not theirs[-1].data["agreed"] or str(theirs[-1].intent) in voided_in(rows):
        return None
    return date.fromisoformat(theirs[-1].data["on"])


@dataclass(frozen=True, slots=True, kw_only=True)
class Ready:
    """Another caregiver of the family who agreed, and what they are ready for alone. Never what they are not."""

    called: str
    skills: tuple[SkillWords, ...]


def others_ready(picture: FamilyOn, caregiver: Caregiver) -> list[Ready]:
    """The others who are in the family on the picture's day and have agreed."""
    found = []
    for other in picture.caregivers:
        known = picture.history.caregivers[other.case_id]
        begun = known.from_day is None or known.from_day <= picture.day
        is_here = begun and (known.through is None or picture.day <= known.through)
        if other.pk != caregiver.pk and is_here and agreed_since(picture.records, other.case_id):
            ready = (c.skill for c in picture.cells_of(other) if c.standing is Standing.SIGNED_OFF)
            found.append(Ready(called=other.called, skills=tuple(ready)))
    return found
