"""The emergency sheet for the wall: one page in large type. What is not stated is a line to be written on by hand.

No size on it is computed: what the care plan does not say is left to the hand of whoever knows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import partial

from reportlab.platypus import Flowable

from training.documents.checklist_drawing import Blank
from training.documents.laying import lay_out, letters, recorded_through, said, sections
from training.documents.packet_values import day
from training.documents.pdf.code import Beside
from training.documents.pdf.flowables import SMALL, TITLE, Heading, Style, Text
from training.documents.pdf.opening import Dateline
from training.documents.pdf.seal import Seal, code_of
from training.documents.pdf.sheet import A4, LETTER
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import clean, strong

__all__ = ["A4", "LETTER", "EmergencySheet", "Place", "render_emergency_sheet"]

CODE = 60.0  # points
LINE = 20.0  # points: room for a line of handwriting
FOR = Style(16, 20)
PART = Style(13, 15, strong=True, before=5, after=1)
STEP = Style(11.5, 14, after=1)
NAMED = Style(9.5, 11.5, pale=True)
STATED = Style(14, 17, strong=True)
NOTE = Style(9.5, 12, after=1)

CALL = "In an emergency, call for help and do what you were taught."
SAMPLE = "Sample wording, to adapt: your team crosses out what does not fit and adds what you were taught."
STEPS = (
    "Call for help. If nobody comes at once, call the emergency number below, with the phone on speaker. Say "
    "“tracheostomy”, and say where you are.",
    "Look at the tube: is it in its place, and does air go in and out of it?",
    "Take off what sits on the tube (valve, cap, filter), and take out an inner cannula. If oxygen is prescribed, give "
    "it over the face and over the neck.",
    "Suction the way you were taught.",
    "If the tube stays blocked, or has come out, change it the way you were taught. If the same size does not go in, "
    "take the smaller one.",
    "No breathing: give breaths and start CPR the way you were taught, until help is there.",
)
DEFERS = (
    "The prescriber’s orders and your team’s own policy come first. When the tube or the care plan changes, take this "
    "sheet down and ask for a new one; the code above tells whether it is still the newest."
)
CONTACTS = (
    ("Emergency number", "Your team, by day", "Your team, by night"),
    ("Where you are: the address to say", "Supplies and equipment"),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Something the sheet says of the tube or of what lies ready. value: empty where it is to be written by hand."""

    title: str
    value: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class EmergencySheet:
    """patient: as they are called; nothing else on it is personal. rows: places side by side.

    care_plan_since: the first day of the care plan it was filled in from, if there is one.
    """

    organisation: str
    patient: str
    as_of: date
    known_at: datetime
    zone: str
    notice: str
    rows: tuple[tuple[Place, ...], ...]
    care_plan_since: date | None = None
    title: str = "Emergency sheet"
    language: str = "en"
    chain_head: str = ""


def render_emergency_sheet(
    sheet: EmergencySheet, pagesize: tuple[float, float] = A4, seal: Seal | None = None
) -> bytes:
    """Return it as a tagged PDF (PDF/UA-1), with its code at the top so that it stays one page."""
    return lay_out(sheet, partial(_story, seal), pagesize, seal, ends_sealed=False)


def _story(seal: Seal | None, sheet: EmergencySheet, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    return [
        *_opening(sheet, seal, undrawn),
        *sections(
            [
                ("What to do first", _steps()),
                ("The tube, its spares and suction", _tube(sheet)),
                ("Whom to call", [_beside(titles, [""] * len(titles)) for titles in CONTACTS]),
            ],
            width,
            style=PART,
        ),
        Text(strong(DEFERS), style=NOTE),
        Text(said(sheet.notice), style=SMALL),
        *sections(letters(undrawn), width),
    ]


def _opening(sheet: EmergencySheet, seal: Seal | None, undrawn: tuple[str, ...]) -> list[Flowable]:
    told = [
        Text(said(sheet.organisation)),
        Heading(1, sheet.title, style=TITLE, ruled=False),
        Text("For ", strong(said(sheet.patient)), " only", style=FOR),
    ]
    opening: list[Flowable] = list(told) if seal is None else [Beside(told, code_of(seal, CODE))]
    opening.append(Dateline(f"As of {day(sheet.as_of)}", recorded_through(sheet.known_at, sheet.zone)))
    if undrawn:
        opening.append(Text("Some letters could not be drawn and stand as numbers: see the end.", style=SMALL))
    return opening


def _steps() -> list[Flowable]:
    numbered = [Text(strong(f"{n}. "), text, style=STEP) for n, text in enumerate(STEPS, 1)]
    return [Text(strong(CALL), style=STEP), *numbered, Text(SAMPLE, style=NOTE)]


def _tube(sheet: EmergencySheet) -> list[Flowable]:
    since = sheet.care_plan_since
    told = f"From the care plan of {day(since)}. " if since else "There is no care plan yet. "
    rows = [_beside([p.title for p in row], [p.value for p in row]) for row in sheet.rows]
    return [Text(told, "What is left open is written by hand, by your team.", style=NOTE), *rows]


class Places(Ledger):
    """Places side by side without rules between them: the line of an open one is all there is."""

    def draw(self) -> None:
        with self.canv.element(self.element):
            y = self.height
            for row, height in zip((self.head, *self.rows), self.heights, strict=True):
                self._draw_row(row, y)
                y -= height


def _beside(titles: Sequence[str], values: Sequence[str]) -> Places:
    """Each under its name."""
    columns = [Column([Text(said(title), style=NAMED)], 1) for title in titles]
    cells: list[Cell] = [[Text(value, style=STATED)] if clean(value).strip() else [Blank(LINE)] for value in values]
    return Places(columns, [cells], row_heads=0)
