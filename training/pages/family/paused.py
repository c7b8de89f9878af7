"""Who in a family has put themself on pause, and what they said since."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from training.people.models import Caregiver
from training.standing.pauses import pauses_of
from training.standing.questions import FamilyOn


@dataclass(frozen=True, slots=True, kw_only=True)
class Paused:
    """number: of the record that is voided when the pause ends."""

    caregiver: Caregiver
    since: date
    said: str
    said_on: date | None
    number: int


def paused(picture: FamilyOn) -> list[Paused]:
    people = {c.case_id: c for c in picture.caregivers}
    return [
        Paused(caregiver=people[p.caregiver], since=p.since, said=p.said, said_on=p.said_on, number=p.record.number)
        for p in pauses_of(picture.records, picture.day)
        if p.caregiver in people
    ]
