"""The hand-over packet: what a receiving nurse needs of another organisation's file, and what counts with them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from reportlab.platypus import Flowable

from training.documents.laying import brief, last, lay_out, letters, none, opened, said, sections, stack
from training.documents.packet_parts import authorisations, care_plan, exceptions, items, missing, overview, verdict
from training.documents.packet_values import Packet, day, grouped
from training.documents.pdf.flowables import CELL, DIGEST, SUBHEADING, Heading, Part, Text
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER, keep_with_next
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import mark, pale, strong

__all__ = ["A4", "LETTER", "HandedEvent", "HandedSkill", "HandoverPacket", "render_handover"]

COUNTS = (
    (
        "Nothing on this paper is a sign-off with you.",
        "Until your own nurse has taken a line over after a check, or has seen it shown, nobody is ready alone by your "
        "file, however long the line holds here.",
    ),
    (
        "The care plan, the authorisations and the exceptions do not carry over.",
        "Check every fact against the order; ask your prescriber; decide yourselves.",
    ),
    (
        "Kit, equipment, home and papers are checked again.",
        "The days below say when they were last checked here.",
    ),
    ("Programmes differ.", "A skill of the same name may ask for other steps with you."),
)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedSkill:
    """One skill that the care plan calls for, of one caregiver it is asked of.

    seen: when it was last shown, how it went and who watched; with_you: what it is to the receiving side; why: what
    stands in its way here.
    """

    caregiver: str
    skill: str
    standing: str | None
    word: str
    last_day: date | None
    seen: str
    reteach: str
    with_you: str
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandedEvent:
    """An emergency, a stay or an appointment. lines: what was written of it."""

    on: date
    kind: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HandoverPacket:
    """packet: the offering side's file on the day. to: the receiving side; reason, note, home_on: of the offer.

    fits: what checking the kept file found; empty where the file is the offering side's own.
    """

    packet: Packet
    to: str
    reason: str = ""
    note: str = ""
    home_on: date | None = None
    fits: str = ""
    title: str = "Hand-over packet"
    skills: tuple[HandedSkill, ...] = ()
    events: tuple[HandedEvent, ...] = ()

    @property
    def organisation(self) -> str:
        return self.packet.organisation

    @property
    def patient(self) -> str:
        return self.packet.patient

    @property
    def as_of(self) -> date:
        return self.packet.as_of

    @property
    def known_at(self) -> datetime:
        return self.packet.known_at

    @property
    def zone(self) -> str:
        return self.packet.zone

    @property
    def language(self) -> str:
        return self.packet.language

    @property
    def chain_head(self) -> str:
        return self.packet.chain_head


def render_handover(handed: HandoverPacket, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return it as a tagged PDF (PDF/UA-1)."""
    return lay_out(handed, _story, pagesize, seal)


def _story(handed: HandoverPacket, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    packet = handed.packet
    story = [*opened(handed, undrawn), *_who(handed), verdict(packet)]
    story += [*(Text(line) for line in packet.verdict_lines), *exceptions(packet)]
    counts: list[Flowable] = [Text(strong(f"{head} "), rest) for head, rest in COUNTS]
    story += sections(
        [
            ("What counts with you, and what does not until it is observed", counts),
            ("What is missing here, and why", missing(packet)),
            ("Care plan, to be checked against the order", care_plan(packet)),
            ("Caregivers and skills", overview(packet)),
            ("Who the caregivers are", _people(handed)),
        ],
        width,
    )
    for name, found in groupby(handed.skills, key=lambda line: line.caregiver):
        heading = Heading(3, said(name), style=SUBHEADING, ruled=False)
        story += keep_with_next(heading, [_skills(list(found))], width)
    return story + sections(
        [
            ("Emergencies, stays and appointments", _events(handed)),
            ("Items: kit, equipment trial, home, papers", items(packet)),
            ("Authorisations here, to be asked for again", authorisations(packet)),
            ("Cautions", [*(Text(line) for line in packet.cautions), Text(strong(said(packet.notice)))]),
            ("The file this was printed from", _file(handed)),
            *letters(undrawn),
        ],
        width,
    )


def _who(handed: HandoverPacket) -> list[Flowable]:
    packet = handed.packet
    columns = [Column("Patient", 4), Column("Called", 2), Column("Born", 2), Column("Home on", 2)]
    born = day(packet.born) if packet.born else "not stated"
    home = day(handed.home_on) if handed.home_on else "not stated"
    row: list[Cell] = [strong(said(packet.patient)), said(packet.called), born, home]
    told: list[Flowable] = [Text("From ", strong(said(packet.organisation)), " to ", strong(said(handed.to)), ".")]
    told += [Text(strong("Why: "), handed.reason)] if handed.reason.strip() else []
    told += [Text(strong("Note: "), handed.note)] if handed.note.strip() else []
    return [*told, Ledger(columns, [row])]


def _people(handed: HandoverPacket) -> list[Flowable]:
    if not handed.packet.caregivers:
        return [none()]
    columns = [Column("Caregiver", 4), Column("Relation", 3), Column("In the family", 3), Column("Sets here", 4)]
    rows: list[list[Cell]] = [
        [
            strong(said(block.name)),
            said(block.relation),
            f"{day(block.from_day) if block.from_day else 'first day not stated'}, {last(block.through_day)}",
            stack(block.sets, "none"),
        ]
        for block in handed.packet.caregivers
    ]
    return [Ledger(columns, rows)]


def _skills(lines: list[HandedSkill]) -> Ledger:
    whose = f"Skill of {brief(lines[0].caregiver)}"
    columns = [Column(whose, 3), Column("Here", 2.6), Column("Last shown here", 3.4), Column("With you", 3.6)]
    return Ledger(columns, [[line.skill, _here(line), _seen(line), strong(said(line.with_you))] for line in lines])


def _here(line: HandedSkill) -> list[Text]:
    shape: list[Part] = [mark(line.standing)] if line.standing else []
    texts = [Text(*shape, strong(said(line.word, "no standing")), style=CELL)]
    texts += [Text(f"last day: {day(line.last_day)}", style=CELL)] if line.last_day else []
    return [*texts, Text(line.why, style=CELL)] if line.why.strip() else texts


def _seen(line: HandedSkill) -> list[Text]:
    texts = [Text(line.seen, style=CELL) if line.seen.strip() else Text(pale("not shown here"), style=CELL)]
    return [*texts, Text(strong("To teach again: "), line.reteach, style=CELL)] if line.reteach.strip() else texts


def _events(handed: HandoverPacket) -> list[Flowable]:
    if not handed.events:
        return [none()]
    columns = [Column("On", 2), Column("What", 3), Column("What was written", 7)]
    rows: list[list[Cell]] = [[day(x.on), strong(said(x.kind)), stack(x.lines, "nothing")] for x in handed.events]
    return [Ledger(columns, rows)]


def _file(handed: HandoverPacket) -> list[Flowable]:
    packet = handed.packet
    chain = f"Records in the file: {packet.chain_length}. The digest of the newest one, to be compared by eye:"
    told = f"Judged by its own programme “{packet.programme}”. The digest of the programme’s newest record:"
    found: list[Flowable] = [Text(chain), Text(strong(grouped(packet.chain_head)), style=DIGEST)]
    found += [Text(handed.fits)] if handed.fits.strip() else []
    return [*found, Text(told), Text(strong(grouped(packet.programme_head)), style=DIGEST)]
