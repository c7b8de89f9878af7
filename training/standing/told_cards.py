"""A card somebody says they have: the caregiver's own word, listed for staff to check. It counts for nothing.

A card belongs to the person. What one family's file knows of it reaches another family's staff by the person's own
wish only; they still have to see the card itself and enter it as one they have seen.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from competency.fields import Problem
from competency.programme import Evidence
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.sanity import Asked, voided_in

if TYPE_CHECKING:
    from training.standing.questions import FamilyOn


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A card with its own dates. record: where it stands. through: None where it does not run out."""

    record: Record
    caregiver: str
    skill: str
    dated: date
    through: date | None

    def is_current(self, day: date) -> bool:
        return self.dated <= day and (self.through is None or day <= self.through)


def judge(asked: Asked) -> Iterator[Problem]:
    """Nobody tells of a card but the caregiver who has it."""
    body = asked.body
    yield from asked.caregiver()
    if body["signed"]["id"] != body.get("caregiver"):
        yield Problem("caregiver", "is not who signs it; they tell of their own card")
    if body.get("skill") not in asked.file.rules.skills or not _is_card(asked.file.rules.skills[body["skill"]]):
        yield Problem("skill", "is no card that this programme asks for")
    dated, through = asked.day("dated"), asked.day("through")
    if dated is None or dated > asked.today:
        yield Problem("dated", "is no day, or lies ahead")
    elif body.get("through") is not None and (through is None or through < dated):
        yield Problem("through", "is no day, or is before the card's own")
    if asked.day("on") != asked.today:
        yield Problem("on", "is not today where the patient is")


def _is_card(skill: object) -> bool:
    return getattr(skill, "evidence", None) is Evidence.CERTIFICATE


def cards_of(caregiver: Caregiver, records: Iterable[Record], day: date) -> list[Card]:
    """The cards that staff have seen and entered for this caregiver, current on the day."""
    return [c for c in _cards(records, "certificate", "on") if c.caregiver == caregiver.case_id and c.is_current(day)]


def told(records: Iterable[Record], day: date) -> list[Card]:
    """The cards that caregivers have told of and nobody has entered since, current on the day."""
    rows = list(records)
    seen = {(r.data["caregiver"], r.data["skill"]): r.number for r in rows if r.kind == "certificate"}
    found = _cards(rows, "told_card", "dated")
    return [c for c in found if c.is_current(day) and seen.get((c.caregiver, c.skill), 0) < c.record.number]


def _cards(records: Iterable[Record], kind: str, dated: str) -> Iterator[Card]:
    rows = list(records)
    gone = voided_in(rows)
    for record in rows:
        body = record.data
        if record.kind == kind and str(record.intent) not in gone:
            through = body.get("through")
            yield Card(
                record=record,
                caregiver=body["caregiver"],
                skill=body["skill"],
                dated=date.fromisoformat(body[dated]),
                through=date.fromisoformat(through) if through else None,
            )


def to_tell(picture: FamilyOn, caregiver: Caregiver, elsewhere: Iterable[Caregiver]) -> list[Card]:
    """The person's cards from their other families that are asked for here, not entered here, and not told of yet.

    elsewhere: their own other places. Only what staff there have seen of this very person is read.
    """
    wanted = {c.skill.code for c in picture.cells_of(caregiver) if c.asked and c.is_required}
    wanted &= {code for code, skill in picture.history.known.programme.skills.items() if _is_card(skill)}
    wanted -= {c.skill for c in cards_of(caregiver, picture.records, picture.day)}
    wanted -= {c.skill for c in told(picture.records, picture.day) if c.caregiver == caregiver.case_id}
    found: dict[str, Card] = {}
    for other in elsewhere if wanted else ():
        for card in cards_of(other, Record.objects.of_chain(other.family.public_id), picture.day):
            if card.skill in wanted:
                found[card.skill] = max(found.get(card.skill, card), card, key=lambda c: c.through or date.max)
    return list(found.values())
