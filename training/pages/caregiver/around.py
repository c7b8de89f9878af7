"""What stands around a caregiver's own results: the patient's essentials, the others who agreed, their own pause."""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from training.people.models import Caregiver
from training.standing.agreements import Ready, agreed_since, others_ready
from training.standing.pauses import pause_of
from training.standing.pausing import Pause
from training.standing.questions import FamilyOn
from training.standing.told_cards import Card, to_tell


@dataclass(frozen=True, slots=True, kw_only=True)
class Essential:
    """A fact of the care plan as a caregiver reads it."""

    name: str
    value: str


class Around:
    """picture: their family on its own today. elsewhere: their own other places."""

    def __init__(self, picture: FamilyOn, caregiver: Caregiver, elsewhere: Iterable[Caregiver]) -> None:
        self.picture = picture
        self.elsewhere = elsewhere
        self.caregiver = caregiver

    @cached_property
    def intent(self) -> uuid.UUID:
        return uuid.uuid4()

    @cached_property
    def pause(self) -> Pause | None:
        return pause_of(self.caregiver, self.picture.records, self.picture.day)

    @cached_property
    def essentials(self) -> list[Essential]:
        """What the care plan in force states; what it leaves open is staff's to ask about."""
        return [_essential(self.picture, fact.code, fact.value) for fact in self.picture.facts if fact.is_stated]

    @cached_property
    def others(self) -> list[Ready]:
        return others_ready(self.picture, self.caregiver)

    @cached_property
    def cards(self) -> list[tuple[Card, str]]:
        """Their own cards from elsewhere that they may tell of here, each with what it is called."""
        found = to_tell(self.picture, self.caregiver, self.elsewhere)
        return [(card, self.picture.words.skill(card.skill).plain) for card in found]

    @cached_property
    def agreed_since(self) -> date | None:
        return agreed_since(self.picture.records, self.caregiver.case_id)


def _essential(picture: FamilyOn, code: str, value: str) -> Essential:
    plain = picture.words.plain_fact(code)
    return Essential(name=plain[:1].upper() + plain[1:], value=value)
