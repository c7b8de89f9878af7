"""One caregiver on one day as the record that staff print: everything that was written about them."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from competency.standing import Standing
from training.curriculum.sentences import KINDS as HOW
from training.documents.origins import origins_of
from training.documents.packet_of import block_of, signed_line
from training.documents.person_record import AttemptLine, CardLine, PersonRecord
from training.documents.record_words import Entry, RecordWords
from training.documents.through_time import bands_of
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.questions import FamilyOn

CARDS = frozenset({"certificate", "accepted"})
OTHERS = frozenset({"signature", "hold", "recheck", "withdrawal", "resolution", "override"})


def person_record_of(
    picture: FamilyOn,
    caregiver: Caregiver,
    *,
    known_at: datetime,
    newest: tuple[int, str],
    standing_word: Callable[[Standing, bool], object],
    outcome_word: Callable[[str], object],
) -> PersonRecord:
    """newest: number and digest of the newest record that bears on them, known_at when it was made."""
    family, words = picture.family, RecordWords(picture)
    entries = [words.entry(r) for r in picture.records if _about(words, r) == caregiver.case_id]
    entries = [entry for entry in entries if entry.on <= picture.day]
    attempts = sorted((e for e in entries if e.record.kind == "demonstration"), key=lambda e: (e.on, e.time, e.number))
    return PersonRecord(
        organisation=family.organisation.title,
        patient=family.patient_name,
        block=block_of(picture, caregiver, standing_word),
        as_of=picture.day,
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        programme=picture.words.title,
        notice=picture.words.notice,
        newest=newest[0],
        chain_head=newest[1],
        attempts=tuple(_attempt(words, entry, outcome_word) for entry in attempts),
        cards=tuple(_card(words, entry) for entry in entries if entry.record.kind in CARDS),
        others=tuple(signed_line(words, e, outcome_word) for e in entries if e.record.kind in OTHERS),
        bands=bands_of(picture, standing_word, [caregiver]),
        origins=origins_of(words, entries),
    )


def _about(words: RecordWords, record: Record) -> str | None:
    """The caregiver a record is about; that of the attempt for what was decided about one."""
    body = record.data
    if record.kind in ("resolution", "override"):
        about = words.by_intent.get(str(body["record"]))
        body = about.data if about is not None else {}
    elif record.kind not in {"demonstration", *CARDS, *OTHERS}:
        return None
    found = body.get("caregiver")
    return None if found is None else str(found)


def _attempt(words: RecordWords, entry: Entry, outcome_word: Callable[[str], object]) -> AttemptLine:
    body = entry.record.data
    return AttemptLine(
        number=entry.number,
        on=entry.on,
        at=entry.time,
        skill=words.words.skill(body["skill"]).title,
        edition=body["edition"],
        setting=", ".join(_how(body)),
        outcome=str(outcome_word(entry.outcome)) if entry.outcome else "",
        watched=tuple(_watched(words, body)),
        followed=entry.followed,
        voided_on=entry.voided_on,
        voided_why=entry.voided.data["reason"] if entry.voided is not None else "",
    )


def _how(body: dict[str, Any]) -> Iterator[str]:
    """Where and in which way it was shown."""
    for key, names in HOW.items():
        if body.get(key):
            yield str(names.get(body[key], body[key]))


def _watched(words: RecordWords, body: dict[str, Any]) -> Iterator[str]:
    if body.get("transcribed"):
        yield _("%(saw)s, on paper") % {"saw": body["transcribed"]["saw"]}
        return
    for observer in dict.fromkeys([*body.get("observers", ()), (body.get("second") or {}).get("observer")]):
        if observer:
            yield words.observer(observer)


def _card(words: RecordWords, entry: Entry) -> CardLine:
    body = entry.record.data
    last = body.get("through") or body.get("last_day")
    taken = _("Taken over from %(there)s") % {"there": body["organisation"]} if body.get("organisation") else _("Card")
    return CardLine(
        number=entry.number,
        on=entry.on,
        skill=words.words.skill(body["skill"]).title,
        what=taken,
        last_day=date.fromisoformat(last) if last else None,
        by=f"{entry.name}, {entry.role}",
        voided_on=entry.voided_on,
    )
