"""A file on the day of its hand-over as the packet for the receiving side."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from competency.standing import Standing
from training.documents.handover_packet import HandedEvent, HandedSkill, HandoverPacket
from training.documents.packet import Packet
from training.documents.record_words import RecordWords, outcome_of, reteach_of
from training.handover.standings import is_card
from training.records.models import Record
from training.standing.questions import Cell, FamilyOn, written

EVENTS = frozenset({"event", "stay", "appointment"})
WRITTEN = ("happened", "done", "thanked", "debrief_said", "note")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offered:
    """What the offer says. fits: what checking the kept file found, on the receiving side."""

    to: str
    reason: str = ""
    note: str = ""
    home_on: date | None = None
    fits: str = ""


def handover_packet_of(
    picture: FamilyOn,
    packet: Packet,
    offered: Offered,
    *,
    words: RecordWords,
    outcome_word: Callable[[str], object],
) -> HandoverPacket:
    """picture: the offering side's file on the day. packet: the same as its packet."""
    return HandoverPacket(
        packet=packet,
        to=offered.to,
        reason=offered.reason,
        note=offered.note,
        home_on=offered.home_on,
        fits=offered.fits,
        skills=tuple(_skills(picture, packet, words, outcome_word)),
        events=tuple(_events(picture, words)),
    )


def _skills(
    picture: FamilyOn, packet: Packet, words: RecordWords, outcome_word: Callable[[str], object]
) -> Iterator[HandedSkill]:
    for caregiver, block in zip(picture.caregivers, packet.caregivers, strict=True):
        for cell, line in zip(picture.cells_of(caregiver), block.skills, strict=True):
            if not (cell.is_required and cell.asked):
                continue
            seen = _last_seen(picture, cell)
            yield HandedSkill(
                caregiver=caregiver.full_name,
                skill=cell.skill.title,
                standing=line.standing,
                word=line.word,
                last_day=cell.last_day,
                seen=_seen(picture, words, seen, outcome_word) if seen else "",
                reteach=reteach_of(seen)[0] if seen else "",
                with_you=_with_you(picture, cell),
                why="" if cell.standing is Standing.SIGNED_OFF else cell.brief,
            )


def _last_seen(picture: FamilyOn, cell: Cell) -> Record | None:
    """The newest demonstration of it that stands."""
    for judged in reversed(picture.sweeps[cell.caregiver.case_id].judged.values()):
        if judged.attempt.skill == cell.skill.code:
            return picture.file.record(judged.attempt.id)
    return None


def _seen(picture: FamilyOn, words: RecordWords, record: Record, outcome_word: Callable[[str], object]) -> str:
    outcome = outcome_of(picture.judged(record))
    said = {
        "day": written(words.day_of(record)),
        "outcome": str(outcome_word(outcome)).lower() if outcome else "",
        "names": "; ".join(words.observer(o) for o in record.data["observers"]),
        "number": record.number,
    }
    return _("%(day)s: %(outcome)s, seen by %(names)s (record %(number)s)") % said


def _with_you(picture: FamilyOn, cell: Cell) -> str:
    """What the line is to the receiving side, by what it may take over (`training.handover.standings`)."""
    if is_card(picture.history.known.programme, cell.skill.code):
        return _("Does not count yet. Look at the card and record it.")
    if cell.standing is Standing.SIGNED_OFF:
        if cell.last_day is None:
            return _("Does not count until you take it over after your own check, or see it shown.")
        said = {"day": written(cell.last_day)}
        return _("Does not count until you take it over after your own check, through %(day)s, or see it shown.") % said
    if cell.standing is Standing.HELD:
        return _("Does not count. It was held here: have it shown.")
    return _("Does not count. Not signed off here: teach it and have it shown.")


def _events(picture: FamilyOn, words: RecordWords) -> Iterator[HandedEvent]:
    """Newest first; what was voided is left out."""
    for record in reversed(picture.records):
        if record.kind not in EVENTS or str(record.intent) in words.voids or words.day_of(record) > picture.day:
            continue
        told = [str(record.data[key]) for key in WRITTEN if isinstance(record.data.get(key), str) and record.data[key]]
        yield HandedEvent(
            on=words.day_of(record), kind=words.kind(record), lines=tuple(filter(None, (words.what(record), *told)))
        )
