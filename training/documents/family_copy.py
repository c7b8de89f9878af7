"""The family's copy of the packet: what is in place and what is still open, and nobody who is missing something.

It holds no caregiver's name, no care plan fact, no note and no reason that staff wrote.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from reportlab.platypus import Flowable

from training.documents.laying import DECIDES, PICTURES, lay_out, letters, none, opened, said, sections
from training.documents.packet_values import day, grouped
from training.documents.pdf.flowables import DIGEST, VERDICT, Heading, Text
from training.documents.pdf.opening import Verdict
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import mark, strong

__all__ = ["A4", "LETTER", "Allowed", "FamilyCopy", "OpenItem", "render_family_copy"]

WORDS = {
    "ready": "In place",
    "ready_by_exception": "In place, with an exception",
    "not_ready": "Not everything is in place yet",
    None: "Not begun yet",
}
SENTENCES = {
    "ready": "Everything the programme asks for is in place on this date.",
    "ready_by_exception": "What the programme asks for is in place on this date, with what is allowed below.",
    "not_ready": "Something the programme asks for is still open on this date.",
    None: "There is no care plan on this date yet, so nothing is asked for.",
}
PEOPLE = {
    True: "Enough people are ready, by the programme’s rules.",
    False: "Not as many people are ready yet as the programme asks for.",
}
OWN_PAGE = (
    "Where each of you stands is between you and your team: it is on your own page, and your nurse goes through it "
    "with you."
)
EMERGENCY = "In an emergency, call for help and do what you were taught."


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenItem:
    """Something to have or to do that is nobody's skill. state: in words."""

    title: str
    state: str
    is_done: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowed:
    """An exception without its reason, which is the staff's. by: name and role."""

    covers: str
    by: str
    last_day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyCopy:
    """verdict: as of a packet; team_met: None before a care plan; skills: as caregivers call them."""

    organisation: str
    patient: str
    as_of: date
    known_at: datetime
    zone: str
    verdict: str | None
    team_met: bool | None
    notice: str
    chain_head: str
    title: str = "The family’s copy"
    language: str = "en"
    since: str = ""
    allowed: tuple[Allowed, ...] = ()
    skills: tuple[str, ...] = ()
    items: tuple[OpenItem, ...] = ()
    facts_missing: int = 0
    cautions: tuple[str, ...] = ()


def render_family_copy(copy: FamilyCopy, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return it as a tagged PDF (PDF/UA-1)."""
    return lay_out(copy, _story, pagesize, seal)


def _story(copy: FamilyCopy, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    return [
        *opened(copy, undrawn),
        Text("About the care of ", strong(said(copy.patient)), "."),
        *_verdict(copy),
        *sections(
            [
                ("People", _people(copy)),
                ("What is shown to a nurse before anybody does it alone", _skills(copy)),
                ("Kit, equipment, home and papers", _items(copy)),
                ("In an emergency", [Text(strong(EMERGENCY))]),
                ("Cautions", [*(Text(line) for line in copy.cautions), Text(strong(said(copy.notice)))]),
                ("To check this paper", [_check(), Text(strong(grouped(copy.chain_head)), style=DIGEST)]),
                *letters(undrawn),
            ],
            width,
        ),
    ]


def _check() -> Text:
    return Text("The digits your team compares with its register, to see that this paper is the one it printed:")


def _verdict(copy: FamilyCopy) -> list[Flowable]:
    heading = Heading(2, WORDS[copy.verdict], style=VERDICT, ruled=False)
    sentence = Text(SENTENCES[copy.verdict], " ", strong(DECIDES))
    story: list[Flowable] = [Verdict(copy.verdict, heading, [sentence], alt=PICTURES.get(copy.verdict or "", ""))]
    if copy.since:
        story.append(Text(copy.since))
    if copy.allowed:
        columns = [Column("Allowed for now", 4), Column("By", 4), Column("Last day", 2)]
        rows: list[list[Cell]] = [[strong(said(x.covers)), said(x.by), strong(day(x.last_day))] for x in copy.allowed]
        story.append(Ledger(columns, rows))
    return story


def _people(copy: FamilyCopy) -> list[Flowable]:
    return [*([] if copy.team_met is None else [Text(PEOPLE[copy.team_met])]), Text(OWN_PAGE)]


def _skills(copy: FamilyCopy) -> list[Flowable]:
    return [Ledger([Column("For this care plan", 1)], [[title] for title in copy.skills])] if copy.skills else [none()]


def _items(copy: FamilyCopy) -> list[Flowable]:
    told: list[Flowable] = []
    if copy.facts_missing:
        told.append(Text("Your team still has to write something down in the care plan."))
    if not copy.items:
        return told or [none()]
    rows: list[list[Cell]] = [
        [said(item.title), [mark("signed_off" if item.is_done else "not_started"), said(item.state)]]
        for item in copy.items
    ]
    return [*told, Ledger([Column("What", 5), Column("State", 5)], rows)]
