"""One caregiver's record for staff: where they stand, every attempt, their cards, and what was corrected."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reportlab.platypus import Flowable

from training.documents.history_values import BandsBlock, OriginLine
from training.documents.laying import Section, last, lay_out, letters, none, opened, said, sections
from training.documents.packet_history import bands, origins
from training.documents.packet_parts import person, signatures
from training.documents.packet_values import CaregiverBlock, SignedLine, day, grouped
from training.documents.pdf.flowables import CELL, DIGEST, Text
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import Run, pale, strong

__all__ = ["A4", "LETTER", "AttemptLine", "CardLine", "PersonRecord", "render_person_record"]

ONLY = "It is about this person with this patient: a sign-off holds for nobody else and with nobody else."


@dataclass(frozen=True, slots=True, kw_only=True)
class AttemptLine:
    """One demonstration. outcome: in words, empty for a voided one; followed: whether it counted, and what it moved."""

    number: int
    on: date
    at: str
    skill: str
    edition: int
    setting: str
    outcome: str
    watched: tuple[str, ...]
    followed: tuple[str, ...] = ()
    voided_on: date | None = None
    voided_why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CardLine:
    """A card that was seen, or a sign-off of another organisation that was taken over. by: who wrote it down."""

    number: int
    on: date
    skill: str
    what: str
    last_day: date | None
    by: str
    voided_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonRecord:
    """newest, chain_head: number and digest of the newest record of the file that bears on this person.

    others: the records about them that are neither an attempt nor a card.
    """

    organisation: str
    patient: str
    block: CaregiverBlock
    as_of: date
    known_at: datetime
    zone: str
    programme: str
    notice: str
    newest: int
    chain_head: str
    title: str = "One caregiver’s record"
    language: str = "en"
    attempts: tuple[AttemptLine, ...] = ()
    cards: tuple[CardLine, ...] = ()
    others: tuple[SignedLine, ...] = ()
    bands: tuple[BandsBlock, ...] = ()
    origins: tuple[OriginLine, ...] = ()


def render_person_record(record: PersonRecord, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return it as a tagged PDF (PDF/UA-1)."""
    return lay_out(record, _story, pagesize, seal)


def _story(record: PersonRecord, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    about = Text("Caregiver: ", strong(said(record.block.name)), ". Patient: ", strong(said(record.patient)), ".")
    parts: list[Section] = [
        ("Where they stand", person(record.block)),
        ("Every demonstration", _attempts(record.attempts)),
        ("Cards, and sign-offs taken over", _cards(record.cards)),
        ("Other records about them", signatures(record.others)),
        ("Through time", bands(record.bands, width)),
        ("Corrected, decided later, typed from paper or late", origins(record.origins)),
        ("Cautions", [Text(strong(said(record.notice)))]),
        ("The file this was printed from", _chain(record)),
        *letters(undrawn),
    ]
    return [*opened(record, undrawn), about, Text(ONLY), *sections(parts, width)]


def _attempts(lines: Sequence[AttemptLine]) -> list[Flowable]:
    if not lines:
        return [none()]
    columns = [
        Column("No.", 0.9),
        Column("Date", 2.2),
        Column("Skill", 4),
        Column("Outcome", 4),
        Column("Watched by", 3),
    ]
    return [Ledger(columns, [_attempt(line) for line in lines])]


def _attempt(line: AttemptLine) -> list[Cell]:
    struck = line.voided_on is not None
    skill = [
        Text(Run(f"{said(line.skill)}, edition {line.edition}", strong=True, struck=struck), style=CELL),
        Text(said(line.setting), style=CELL),
    ]
    outcome = [Text(strong(line.outcome), style=CELL)] if line.outcome.strip() else []
    outcome += [Text(text, style=CELL) for text in line.followed]
    if line.voided_on is not None:
        why = f"Voided {day(line.voided_on)}: {said(line.voided_why, 'no reason stated')}"
        outcome.append(Text(strong(why), style=CELL))
    when = [Text(day(line.on, short=True), style=CELL), *([Text(pale(line.at), style=CELL)] if line.at else [])]
    watched = [Text(said(name), style=CELL) for name in line.watched] or [Text("not stated", style=CELL)]
    return [str(line.number), when, skill, outcome or [Text("none", style=CELL)], watched]


def _cards(lines: Sequence[CardLine]) -> list[Flowable]:
    if not lines:
        return [none()]
    columns = [
        Column("No.", 0.9), Column("Date", 2.2), Column("Skill", 3.4), Column("What", 3.4), Column("Last day", 2.2),
        Column("Written down by", 3),
    ]  # fmt: skip
    return [Ledger(columns, [_card(line) for line in lines])]


def _card(line: CardLine) -> list[Cell]:
    struck = line.voided_on is not None
    voided = [Text(strong(f"Voided {day(line.voided_on)}"), style=CELL)] if line.voided_on else []
    return [
        str(line.number),
        day(line.on, short=True),
        Run(said(line.skill), strong=True, struck=struck),
        [Text(said(line.what), style=CELL), *voided],
        last(line.last_day),
        said(line.by),
    ]


def _chain(record: PersonRecord) -> list[Flowable]:
    judged = f"Judged by the programme “{record.programme}”."
    told = f"The newest record of the file that bears on this person is number {record.newest}; its digest:"
    return [Text(judged), Text(told), Text(strong(grouped(record.chain_head)), style=DIGEST)]
