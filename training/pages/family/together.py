"""What is planned together from a day on, in the words of staff: the next of each skill, and whose turn it is."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from training.documents.other_words import interpreter, minutes, planned
from training.documents.record_words import RecordWords
from training.standing.appointments import Appointment, coming
from training.standing.stays import Stay, stays_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One appointment as a line. is_next: the next one of a skill; first: the number of the record that began it."""

    day: date
    at: str
    what: str
    turn: str
    rest: str
    is_next: bool
    number: int
    first: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Together:
    lines: tuple[Planned, ...]
    open_stays: tuple[Stay, ...]


def together(words: RecordWords) -> Together:
    """Appointments of the picture's day and later, and the stays that go on."""
    records = words.picture.records
    open_stays = (s for s in stays_of(records, words.picture.family.zone) if s.ended is None and not s.is_voided)
    return Together(lines=tuple(_lines(words)), open_stays=tuple(open_stays))


def _lines(words: RecordWords) -> Iterator[Planned]:
    seen: set[str] = set()
    for one in coming(words.picture.records, words.picture.day):
        skills = set(one.body["skills"])
        yield Planned(
            day=one.day,
            at=one.body["at"],
            what=planned(words, one.body),
            turn=_("%(name)s’s turn.") % {"name": words.names([one.body["caregiver"]])},
            rest=" ".join(_rest(words, one)),
            is_next=bool(skills - seen),
            number=one.stands.number,
            first=one.first.number,
        )
        seen |= skills


def _rest(words: RecordWords, one: Appointment) -> Iterator[str]:
    body = one.body
    if body["who"]:
        yield _("Comes along: %(names)s.") % {"names": words.names(body["who"])}
    if body["checks"]:
        yield _("Checks: %(name)s.") % {"name": words.observer(body["checks"])}
    if body["minutes"]:
        yield _("Length: %(length)s.") % {"length": minutes(int(body["minutes"]))}
    if body["place"]:
        yield _("Place: %(place)s.") % {"place": body["place"]}
    if body["interpreter"]:
        yield _("Interpreter: %(kind)s.") % {"kind": interpreter(body["interpreter"])}
