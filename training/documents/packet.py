"""The discharge-readiness packet: a finished value in, the bytes of a PDF out.

The same packet gives the same bytes. Nothing here judges, asks the database or reads the clock.
"""

from __future__ import annotations

from reportlab.platypus import Flowable

from training.documents.laying import (
    Section,
    brief,
    lay_out,
    letters,
    none,
    opened,
    said,
    sections,
    stack,
)
from training.documents.packet_history import bands, origins, recorders
from training.documents.packet_parts import (
    authorisations,
    care_plan,
    exceptions,
    items,
    missing,
    overview,
    standing_cell,
    verdict,
)
from training.documents.packet_values import (
    AuthorisationLine,
    BadPacket,
    CaregiverBlock,
    ExceptionLine,
    FactLine,
    ItemLine,
    MissingLine,
    Packet,
    SignedLine,
    SkillLine,
    day,
    grouped,
    instant,
)
from training.documents.pdf.flowables import (
    CELL,
    DIGEST,
    SUBHEADING,
    Heading,
    Part,
    Text,
)
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER, keep_with_next
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import Run, pale, strong

__all__ = [
    "A4",
    "LETTER",
    "AuthorisationLine",
    "BadPacket",
    "CaregiverBlock",
    "ExceptionLine",
    "FactLine",
    "ItemLine",
    "MissingLine",
    "Packet",
    "SignedLine",
    "SkillLine",
    "day",
    "grouped",
    "instant",
    "render_packet",
]


def render_packet(packet: Packet, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return the packet as a tagged PDF (PDF/UA-1).

    Letters no embedded face can draw are printed by their number, such as ``[U+674E]``, and listed at the end.
    """
    return lay_out(packet, _story, pagesize, seal)


def _story(packet: Packet, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    story: list[Flowable] = _opening(packet, undrawn)
    story += sections(
        [
            ("What is missing, and why", missing(packet)),
            ("Care plan", care_plan(packet)),
            ("Team rule and sets", [Text(line) for line in packet.team] or [none()]),
            ("Caregivers and skills", overview(packet)),
        ],
        width,
    )
    for block in packet.caregivers:
        story += keep_with_next(Heading(3, said(block.name), style=SUBHEADING, ruled=False), _caregiver(block), width)
    story += sections([("Through time", bands(packet.bands, width))], width)
    return story + sections(_closing(packet, undrawn), width)


def _opening(packet: Packet, undrawn: tuple[str, ...]) -> list[Flowable]:
    columns = [Column("Patient", 4), Column("Called", 2), Column("Born", 2), Column("Records in the file", 2)]
    born = day(packet.born) if packet.born else "not stated"
    who: list[Part] = [strong(said(packet.patient)), said(packet.called), born, str(packet.chain_length)]
    opening = [*opened(packet, undrawn), Ledger(columns, [who])]
    return [*opening, verdict(packet), *(Text(line) for line in packet.verdict_lines), *exceptions(packet)]


def _caregiver(block: CaregiverBlock) -> list[Flowable]:
    stay = f"In the family from {day(block.from_day)}" if block.from_day else "In the family, first day not stated"
    stay += f" through {day(block.through_day)}" if block.through_day else ", no last day"
    about = Text(f"Relation: {said(block.relation)}. {stay}. Sets: {'; '.join(block.sets) or 'none'}.")
    if not block.skills:
        return [about, none("No skill is listed.")]
    columns = [
        Column(f"Skill of {brief(block.name)}", 3),
        Column("Standing", 2.3),
        Column("Last day", 2),
        Column("Reasons", 5),
    ]
    return [about, Ledger(columns, [_skill_row(skill) for skill in block.skills])]


def _skill_row(skill: SkillLine) -> list[Cell]:
    reasons = skill.reasons if skill.asked else ("not asked of this person", *skill.reasons)
    last_day = day(skill.last_day) if skill.last_day else "none"
    return [skill.title, standing_cell(skill), last_day, stack(reasons, "none")]


def _closing(packet: Packet, undrawn: tuple[str, ...]) -> list[Section]:
    notice = said(packet.notice, "No notice is stated.")
    digest = grouped(packet.chain_head)
    chain = f"Records in the file: {packet.chain_length}. The digest of the newest one, to be compared by eye:"
    found: list[Section] = [
        ("Items: kit, equipment trial, home, papers", items(packet)),
        ("Authorisations", authorisations(packet)),
        ("Who recorded", recorders(packet.recorders)),
        ("Corrected, decided later, typed from paper or late", origins(packet.origins)),
        ("Who signed", _signatures(packet)),
        ("Cautions", [*([Text(line) for line in packet.cautions] or [none()]), Text(strong(notice))]),
        ("The file this was printed from", [Text(chain), Text(strong(digest), style=DIGEST), *_programme(packet)]),
    ]
    return [*found, *letters(undrawn)]


def _programme(packet: Packet) -> list[Flowable]:
    if not packet.programme:
        return []
    told = f"Judged by the programme “{packet.programme}”. The digest of its newest record:"
    return [Text(told), Text(strong(grouped(packet.programme_head)), style=DIGEST)]


def _signatures(packet: Packet) -> list[Flowable]:
    if not packet.signatures:
        return [none()]
    columns = [
        Column("No.", 0.9),
        Column("Date", 2.4),
        Column("Record", 6.8),
        Column("Signed by", 3.6),
        Column("At", 3.2),
    ]
    return [Ledger(columns, [_signed_row(line) for line in packet.signatures])]


def _signed_row(line: SignedLine) -> list[Cell]:
    voided = line.voided_on is not None
    record = [Text(strong(said(line.kind)), style=CELL), Text(Run(said(line.what), struck=voided), style=CELL)]
    if line.voided_on is not None:
        record.append(Text(strong(f"Voided {day(line.voided_on)}: {said(line.note, 'no reason stated')}"), style=CELL))
    elif line.note.strip():
        record.append(Text(line.note, style=CELL))
    who = [Text(said(line.name), style=CELL), Text(pale(said(line.role, "role not stated")), style=CELL)]
    at = instant(line.signed_at) if line.signed_at else "not signed"
    return [str(line.number), day(line.on), record, who, at]
