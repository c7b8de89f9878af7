"""What caregivers have said themselves and staff act on: a pause, and what was said since; a card they tell of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from training.people.models import Caregiver
from training.standing.pausing import pauses_of
from training.standing.questions import FamilyOn
from training.standing.told_cards import Card, told


@dataclass(frozen=True, slots=True, kw_only=True)
class Paused:
    """number: of the record that is voided when the pause ends."""

    caregiver: Caregiver
    since: date
    said: str
    said_on: date | None
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """A card that a caregiver tells of and nobody here has seen."""

    caregiver: Caregiver
    title: str
    card: Card


def told_cards(picture: FamilyOn) -> list[Told]:
    people = {c.case_id: c for c in picture.caregivers}
    return [
        Told(caregiver=people[c.caregiver], title=picture.words.skill(c.skill).title, card=c)
        for c in told(picture.records, picture.day)
        if c.caregiver in people
    ]


def paused(picture: FamilyOn) -> list[Paused]:
    people = {c.case_id: c for c in picture.caregivers}
    return [
        Paused(caregiver=people[p.caregiver], since=p.since, said=p.said, said_on=p.said_on, number=p.record.number)
        for p in pauses_of(picture.records, picture.day)
        if p.caregiver in people
    ]
