"""The discharge-readiness packet: a finished value in, the bytes of a PDF out.

The same packet gives the same bytes. Nothing here judges, asks the database or reads the clock.
"""

from __future__ import annotations

from reportlab.platypus import Flowable

from training.documents.laying import (
    Section,
    lay_out,
    letters,
    none,
    opened,
    said,
    sections,
)
from training.documents.packet_history import bands, origins, recorders
from training.documents.packet_parts import (
    authorisations,
    care_plan,
    exceptions,
    items,
    missing,
    overview,
    person,
    signatures,
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
    DIGEST,
    SUBHEADING,
    Heading,
    Part,
    Text,
)
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER, keep_with_next
from training.documents.pdf.table import Column, Ledger
from training.documents.pdf.text import strong

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
        story += keep_with_next(Heading(3, said(block.name), style=SUBHEADING, ruled=False), person(block), width)
    story += sections([("Through time", bands(packet.bands, width))], width)
    return story + sections(_closing(packet, undrawn), width)


def _opening(packet: Packet, undrawn: tuple[str, ...]) -> list[Flowable]:
    columns = [Column("Patient", 4), Column("Called", 2), Column("Born", 2), Column("Records in the file", 2)]
    born = day(packet.born) if packet.born else "not stated"
    who: list[Part] = [strong(said(packet.patient)), said(packet.called), born, str(packet.chain_length)]
    opening = [*opened(packet, undrawn), Ledger(columns, [who])]
    return [*opening, verdict(packet), *(Text(line) for line in packet.verdict_lines), *exceptions(packet)]


def _closing(packet: Packet, undrawn: tuple[str, ...]) -> list[Section]:
    notice = said(packet.notice, "No notice is stated.")
    digest = grouped(packet.chain_head)
    chain = f"Records in the file: {packet.chain_length}. The digest of the newest one, to be compared by eye:"
    found: list[Section] = [
        ("Items: kit, equipment trial, home, papers", items(packet)),
        ("Authorisations", authorisations(packet)),
        ("Who recorded", recorders(packet.recorders)),
        ("Corrected, decided later, typed from paper or late", origins(packet.origins)),
        ("Who signed", signatures(packet.signatures)),
        ("Cautions", [*([Text(line) for line in packet.cautions] or [none()]), Text(strong(notice))]),
        ("The file this was printed from", [Text(chain), Text(strong(digest), style=DIGEST), *_programme(packet)]),
    ]
    return [*found, *letters(undrawn)]


def _programme(packet: Packet) -> list[Flowable]:
    if not packet.programme:
        return []
    told = f"Judged by the programme “{packet.programme}”. The digest of its newest record:"
    return [Text(told), Text(strong(grouped(packet.programme_head)), style=DIGEST)]
