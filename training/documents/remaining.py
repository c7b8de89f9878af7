"""What one caregiver has shown and what comes next, in their own words' register: a sheet to take along.

It names the caregiver and, as they are called, the patient; nobody else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reportlab.platypus import Flowable

from training.documents.laying import Section, lay_out, letters, none, opened, said, sections
from training.documents.pdf.flowables import SMALL, Style, Text
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import mark, strong

__all__ = ["A4", "LETTER", "Remaining", "Shown", "Turn", "render_remaining"]

FOR = Style(14, 18, after=2)
LARGE = Style(11.5, 15, after=3)
SKILL = Style(11, 14, strong=True)
LINE = Style(10.5, 13.5)

CALL = "In an emergency, call for help and do what you were taught."
ALONE = "Alone means: without a nurse beside you. What is not listed as ready is not done alone yet."
ASK = "Where you feel unsure of something that is listed as ready, say so: your nurse goes through it with you again."


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One skill. standing: a key of MARKS as caregivers see it; word: the same in a word; lines: what goes with it."""

    title: str
    standing: str
    word: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """One appointment. when: its day and time in words."""

    when: str
    what: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Remaining:
    """caregiver, patient: as they are called; patient is empty where the caregiver is the patient.

    summary: how much is ready, in a sentence.
    """

    organisation: str
    caregiver: str
    patient: str
    as_of: date
    known_at: datetime
    zone: str
    notice: str
    summary: str
    title: str = "What you have shown, and what comes next"
    language: str = "en"
    chain_head: str = ""
    ready: tuple[Shown, ...] = ()
    next: tuple[Shown, ...] = ()
    not_alone: tuple[Shown, ...] = ()
    later: tuple[Shown, ...] = ()
    planned: tuple[Turn, ...] = ()


def render_remaining(sheet: Remaining, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return it as a tagged PDF (PDF/UA-1)."""
    return lay_out(sheet, _story, pagesize, seal)


def _story(sheet: Remaining, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    return [
        *opened(sheet, undrawn),
        Text("For ", strong(said(sheet.caregiver)), *_cares(sheet.patient), style=FOR),
        Text(said(sheet.summary), style=LARGE),
        *sections([*_parts(sheet), ("Good to know", _notes(sheet)), *letters(undrawn)], width),
    ]


def _cares(patient: str) -> list[str]:
    return [f", caring for {patient}. It holds for {patient} only."] if patient.strip() else ["."]


def _parts(sheet: Remaining) -> list[Section]:
    """What is empty is left out, but for what is ready and what is planned."""
    ready, turns = _skills(sheet.ready), _turns(sheet.planned)
    found: list[Section] = [("Ready alone", ready or [none("Nothing yet.")])]
    for title, skills in (("Next", sheet.next), ("Not alone yet", sheet.not_alone), ("Later", sheet.later)):
        if skills:
            found.append((title, _skills(skills)))
    return [*found, ("Planned with you", turns or [none("Nothing is planned. Ask your nurse for a time.")])]


def _skills(skills: Sequence[Shown]) -> list[Flowable]:
    rows: list[list[Cell]] = [
        [
            [Text(said(skill.title), style=SKILL)],
            [Text(mark(skill.standing), strong(said(skill.word)), style=LINE), *_lines(skill.lines)],
        ]
        for skill in skills
    ]
    return [Ledger([Column("Skill", 4), Column("How it stands", 6)], rows)] if rows else []


def _turns(turns: Sequence[Turn]) -> list[Flowable]:
    rows: list[list[Cell]] = [
        [[Text(said(turn.when), style=SKILL)], [*_lines((turn.what,) if turn.what else ()), *_lines(turn.lines)]]
        for turn in turns
    ]
    return [Ledger([Column("When", 4), Column("What", 6)], rows)] if rows else []


def _lines(lines: Sequence[str]) -> list[Text]:
    return [Text(line, style=LINE) for line in lines]


def _notes(sheet: Remaining) -> list[Flowable]:
    return [
        Text(strong(CALL), style=LARGE),
        Text(ALONE, style=LARGE),
        Text(ASK, style=LARGE),
        Text(said(sheet.notice), style=SMALL),
    ]
