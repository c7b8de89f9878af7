"""What is written about one caregiver, and what is planned with them, in their words and without any staff's note."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.documents.other_words import interpreter, minutes
from training.documents.record_words import RecordWords
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.appointments import Appointment, appointments_of
from training.standing.other_kinds import is_theirs
from training.standing.pausing import is_own_pause
from training.standing.questions import FamilyOn, written

THANKED_FOR = timedelta(days=90)  # how long a page goes on thanking
_PLAIN = {
    "demonstration": gettext_lazy("Shown: %(skill)s"),
    "certificate": gettext_lazy("Your card: %(skill)s"),
    "accepted": gettext_lazy("Taken over from another place: %(skill)s"),
    "hold": gettext_lazy("On pause: %(skill)s"),
    "recheck": gettext_lazy("Please show us again: %(skill)s"),
    "withdrawal": gettext_lazy("Please show us again: %(skill)s"),
    "event": gettext_lazy("An emergency that you handled"),
    "stay": gettext_lazy("You were on duty in the day and night alone"),
    "appointment": gettext_lazy("Planned together"),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Own:
    """One record about a caregiver as they read it. said: their own words on it, each with its day."""

    number: int
    day: date
    what: str
    voided: bool
    is_past_pause: bool
    said: tuple[tuple[date, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedWith:
    """One appointment as a caregiver reads it."""

    day: date
    at: str
    what: str
    lines: tuple[str, ...]
    is_off: bool


class OwnWritten:
    """picture: their family on its own today."""

    def __init__(self, picture: FamilyOn, caregiver: Caregiver) -> None:
        self.picture = picture
        self.me = caregiver.case_id
        self.words = RecordWords(picture)

    def records(self) -> list[Own]:
        """What is written about them, newest first."""
        return [self.own(r) for r in reversed(self.picture.records) if is_theirs(r, self.me)]

    def record(self, number: int) -> Record | None:
        """The record of this number, where it is about them."""
        return next((r for r in self.picture.records if r.number == number and is_theirs(r, self.me)), None)

    def own(self, record: Record) -> Own:
        mine = [r for r in self.words.comments(record) if r.data["caregiver"] == self.me]
        return Own(
            number=record.number,
            day=self.words.day_of(record),
            what=self.what(record),
            voided=str(record.intent) in self.words.voids,
            is_past_pause=is_own_pause(record) and str(record.intent) in self.words.voids,
            said=tuple((self.words.day_of(r), r.data["said"]) for r in mine),
        )

    def what(self, record: Record) -> str:
        body = record.data
        skill = {"skill": self.skill(body["skill"]) if body.get("skill") else _("everything")}
        if record.kind == "signature":
            mine = body["by"] == "caregiver"
            return (_("Your own yes: %(skill)s") if mine else _("Your nurse’s yes: %(skill)s")) % skill
        if body.get("purpose") == "practice":
            return _("Practised: %(skill)s") % skill
        if record.kind == "appointment" and body.get("day"):
            return _("Planned together for %(day)s") % {"day": written(date.fromisoformat(body["day"]))}
        return str(_PLAIN[record.kind]) % skill

    def skill(self, code: str) -> str:
        return self.picture.words.skill(code).plain

    def thanks(self) -> list[str]:
        """The emergencies they handled lately and were thanked for."""
        debriefs = [r.data for r in self._standing("event") if r.data["part"] == "debrief"]
        thanked = {d["record"] for d in debriefs if d.get("thanked")}
        found = []
        for record in self._standing("event"):
            body = record.data
            is_mine = body["part"] == "event" and self.me in body["who"]
            if is_mine and (body.get("thanked") or str(record.intent) in thanked):
                day = date.fromisoformat(body["on"])
                if self.picture.day - day <= THANKED_FOR:
                    found.append(_("On %(day)s you handled an emergency. Thank you.") % {"day": written(day)})
        return found

    def _standing(self, kind: str) -> list[Record]:
        return [r for r in self.picture.records if r.kind == kind and str(r.intent) not in self.words.voids]

    def planned(self, *, with_names: bool = True) -> list[PlannedWith]:
        """From today on: their turns, and where they come along; what was called off says so until its day is over.

        with_names: whether it says who watches, and what staff wrote of it, which may name somebody.
        """
        mine = (a for a in appointments_of(self.picture.records) if a.concerns(self.me))
        return [self._planned(a, with_names) for a in mine if a.day >= self.picture.day]

    def _planned(self, one: Appointment, with_names: bool) -> PlannedWith:
        body = one.body
        names = [*(self.skill(code) for code in body["skills"]), body["what"] if with_names else ""]
        return PlannedWith(
            day=one.day,
            at=body["at"],
            what=", ".join(filter(None, names)),
            lines=(_("This one is off."),) if one.is_cancelled else tuple(self._lines(body, with_names)),
            is_off=one.is_cancelled,
        )

    def _lines(self, body: dict[str, Any], with_names: bool) -> Iterator[str]:
        yield _("It is your turn.") if body["caregiver"] == self.me else _("You come along; it is not your turn.")
        if body["checks"] and with_names:
            yield _("%(name)s will be there and watch.") % {"name": self.words.observer(body["checks"])}
        if body["minutes"]:
            yield _("It takes about %(length)s.") % {"length": minutes(int(body["minutes"]))}
        if body["place"]:
            yield _("Where: %(place)s.") % {"place": body["place"]}
        if body["interpreter"]:
            yield _("There will be an interpreter: %(kind)s.") % {"kind": interpreter(body["interpreter"])}
