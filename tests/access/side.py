"""One organisation of the world, and the tokens that its texts are made of."""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import count

from tests.cast import Home
from training.curriculum.models import Programme, ProgrammeDraft
from training.handover.models import Offer
from training.people.models import Caregiver, Family, Member, User
from training.records.models import Record
from training.standing.models import Draft

# Whose eyes a text is for: staff's alone (t: about the father), one caregiver's, everybody's in the family, a draft's
# author's, or those of an organisation that a family is offered to.
STAFF, ABOUT_FATHER, MOTHER, FATHER, SHARED, AUTHOR, OFFERED = "s", "t", "m", "f", "p", "d", "o"
_numbers = count(1)


def token(letter: str, family: int, eyes: str) -> str:
    return f"QX{letter}{family}{eyes}{next(_numbers):04}"


@dataclass
class Side:
    """One organisation with everything in it. records: the number in the first family's chain, by what it is."""

    letter: str
    home: Home
    families: dict[int, Family] = field(default_factory=dict)
    people: dict[str, Caregiver] = field(default_factory=dict)
    records: dict[str, Record] = field(default_factory=dict)
    accounts: dict[str, User] = field(default_factory=dict)
    received: dict[int, Family] = field(default_factory=dict)  # by the number they have at the other's
    waiting: Offer | None = None  # one that this side offered
    asked: Offer | None = None  # one that was offered to this side
    answered: Offer | None = None  # one that this side accepted
    draft: Draft | None = None
    second_draft: Draft | None = None
    own_drafts: dict[str, ProgrammeDraft] = field(default_factory=dict)
    code: str = ""

    passkey: int = 0

    @property
    def programme(self) -> Programme:
        return self.home.programme

    @property
    def educator(self) -> Member:
        return self.home.educator
