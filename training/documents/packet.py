"""The discharge-readiness packet: a finished value in, the bytes of a PDF out.

The same packet gives the same bytes. Nothing here judges, asks the database or reads the clock.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import date
from typing import Any

from reportlab.platypus import Flowable

from training.documents.packet_values import (
    SENTENCES,
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
    GLANCE,
    SMALL,
    SUBHEADING,
    TITLE,
    VERDICT,
    Heading,
    Part,
    Text,
)
from training.documents.pdf.opening import Dateline, Verdict
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER, Furniture, build, keep_with_next, text_width
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import Run, clean, mark, name, pale, spell_out, strong, undrawable

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

DECIDES = "The clinical team decides discharge."
PICTURES = {
    "ready": "Mark of the verdict: two whole posts",
    "ready_by_exception": "Mark of the verdict: two posts, one of them propped up",
    "not_ready": "Mark of the verdict: one whole post and one only dotted",
}
GLANCE_NOTE = (
    "Signed off or held through the day shown, for this patient only. The reasons stand under each name, further on."
)
CAREGIVERS_ABREAST = 6
BRIEF = 60  # letters of a name in the head of a table


def render_packet(packet: Packet, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return the packet as a tagged PDF (PDF/UA-1).

    Letters no embedded face can draw are printed by their number, such as ``[U+674E]``, and listed at the end.
    """
    undrawn: dict[str, None] = {}
    packet = _readable(packet, undrawn)
    as_of = day(packet.as_of)
    known = f"as known {instant(packet.known_at, packet.zone)}"
    return build(
        _story(packet, tuple(undrawn), text_width(pagesize)),
        title=_flat(f"{packet.title}: {packet.patient}, as of {as_of}"),
        author=_flat(packet.organisation),
        subject=f"As of {as_of}, {known}",
        language=packet.language,
        made_at=packet.known_at,
        pagesize=pagesize,
        seal=seal,
        furniture=Furniture(
            head=packet.organisation,
            head_right=f"as of {as_of}, {known}",
            foot=f"{_brief(packet.organisation)}. {_brief(packet.patient)}",
            foot_second=f"{packet.title} as of {as_of}. Check code {grouped(packet.chain_head[:16])}",
        ),
    )


def _flat(text: str) -> str:
    """One line without control characters, for the file's properties."""
    return " ".join(clean(text).split())


def _readable(value: Any, undrawn: dict[str, None]) -> Any:
    """Return the value with every text made drawable; what had to be spelled out is noted in ``undrawn``."""
    if isinstance(value, str):
        undrawn.update(dict.fromkeys(undrawable(value)))
        return spell_out(value)
    if isinstance(value, tuple):
        return tuple(_readable(part, undrawn) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: _readable(getattr(value, f.name), undrawn) for f in fields(value)})
    return value


def _said(text: str, otherwise: str = "not stated") -> str:
    return text if clean(text).strip() else otherwise


def _brief(text: str) -> str:
    """For the head of a table, which is repeated; the whole name stands in the heading."""
    return _said(text) if len(text) <= BRIEF else text[:BRIEF].rstrip() + "…"


def _last(value: date | None) -> str:
    return day(value) if value else "no last day"


def _story(packet: Packet, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    story: list[Flowable] = _opening(packet, undrawn)
    sections: list[tuple[str, list[Flowable]]] = [
        ("What is missing, and why", _missing(packet)),
        ("Care plan", _care_plan(packet)),
        ("Team rule and sets", [Text(line) for line in packet.team] or [_none()]),
        ("Caregivers and skills", _overview(packet)),
    ]
    for title, body in sections:
        story += keep_with_next(Heading(2, title), body, width)
    for block in packet.caregivers:
        story += keep_with_next(Heading(3, _said(block.name), style=SUBHEADING, ruled=False), _caregiver(block), width)
    for title, body in _closing(packet, undrawn):
        story += keep_with_next(Heading(2, title), body, width)
    return story


def _none(text: str = "None.") -> Text:
    return Text(text)


def _opening(packet: Packet, undrawn: tuple[str, ...]) -> list[Flowable]:
    columns = [Column("Patient", 4), Column("Called", 2), Column("Born", 2), Column("Records in the file", 2)]
    born = day(packet.born) if packet.born else "not stated"
    who: list[Part] = [strong(_said(packet.patient)), _said(packet.called), born, str(packet.chain_length)]
    word = _said(packet.verdict_word, "No verdict")
    verdict = Verdict(
        packet.verdict,
        Heading(2, word, style=VERDICT, ruled=False),
        [Text(SENTENCES[packet.verdict], " ", strong(DECIDES))],
        alt=PICTURES.get(packet.verdict or "", ""),
    )
    opening: list[Flowable] = [
        Text(_said(packet.organisation)),
        Heading(1, packet.title, style=TITLE, ruled=False),
        Dateline(f"As of {day(packet.as_of)}", f"as known {instant(packet.known_at, packet.zone)}"),
        Ledger(columns, [who]),
    ]
    if undrawn:
        opening.append(Text("Some letters could not be drawn and stand as numbers: see the end.", style=SMALL))
    return [*opening, verdict, *(Text(line) for line in packet.verdict_lines), *_exceptions(packet)]


def _exceptions(packet: Packet) -> list[Flowable]:
    if not packet.exceptions:
        return [Text(strong("Exceptions: "), "none.")]
    columns = [Column("Exception for", 3), Column("Allowed by", 3), Column("Reason", 5), Column("Last day", 2)]
    rows: list[list[Cell]] = [
        [strong(_said(line.covers)), _said(line.by), _said(line.reason), strong(day(line.last_day))]
        for line in packet.exceptions
    ]
    return [Ledger(columns, rows)]


def _missing(packet: Packet) -> list[Flowable]:
    if not packet.missing:
        return [_none("Nothing is missing.")]
    rows: list[list[Cell]] = [
        [strong(_said(line.title)), _stack(line.lines, "no reason stated")] for line in packet.missing
    ]
    return [Ledger([Column("Missing", 3), Column("Why", 7)], rows)]


def _stack(lines: Sequence[str], otherwise: str) -> list[Text]:
    return [Text(line, style=CELL) for line in lines] or [Text(otherwise, style=CELL)]


def _care_plan(packet: Packet) -> list[Flowable]:
    since = f"In force since {day(packet.care_plan_since)}." if packet.care_plan_since else "No care plan is known."
    if not packet.care_plan:
        return [Text(since), _none("No fact is stated.")]
    rows: list[list[Cell]] = [
        [line.title, _said(line.value) if line.stated else Run("not stated", italic=True)] for line in packet.care_plan
    ]
    return [Text(since), Ledger([Column("Fact", 3), Column("Value", 7)], rows)]


def _overview(packet: Packet) -> list[Flowable]:
    titles = list(dict.fromkeys(skill.title for block in packet.caregivers for skill in block.skills))
    if not titles:
        return [_none() if not packet.caregivers else _none("No skill is listed.")]
    tables: list[Flowable] = [Text(GLANCE_NOTE, style=SMALL)]
    for at in range(0, len(packet.caregivers), CAREGIVERS_ABREAST):
        blocks = packet.caregivers[at : at + CAREGIVERS_ABREAST]
        columns = [Column("Skill", 1.4), *(Column(_brief(block.name), 1) for block in blocks)]
        tables.append(Ledger(columns, [[title, *(_glance(block, title) for block in blocks)] for title in titles]))
    return tables


def _glance(block: CaregiverBlock, title: str) -> list[Text]:
    skill = next((skill for skill in block.skills if skill.title == title), None)
    if skill is None:
        return [Text(pale("not listed"), style=GLANCE)]
    if not skill.asked:
        return [Text(*_standing(skill), style=GLANCE), Text(pale("not asked"), style=GLANCE)]
    if skill.last_day is None:
        return [Text(*_standing(skill), style=GLANCE)]
    return [Text(*_standing(skill), style=GLANCE), Text(day(skill.last_day, short=True), style=GLANCE)]


def _standing(skill: SkillLine) -> list[Part]:
    word = strong(_said(skill.word, "no standing"))
    return [mark(skill.standing), word] if skill.standing else [word]


def _caregiver(block: CaregiverBlock) -> list[Flowable]:
    stay = f"In the family from {day(block.from_day)}" if block.from_day else "In the family, first day not stated"
    stay += f" through {day(block.through_day)}" if block.through_day else ", no last day"
    about = Text(f"Relation: {_said(block.relation)}. {stay}. Sets: {'; '.join(block.sets) or 'none'}.")
    if not block.skills:
        return [about, _none("No skill is listed.")]
    columns = [
        Column(f"Skill of {_brief(block.name)}", 3),
        Column("Standing", 2.3),
        Column("Last day", 2),
        Column("Reasons", 5),
    ]
    return [about, Ledger(columns, [_skill_row(skill) for skill in block.skills])]


def _skill_row(skill: SkillLine) -> list[Cell]:
    reasons = skill.reasons if skill.asked else ("not asked of this person", *skill.reasons)
    last_day = day(skill.last_day) if skill.last_day else "none"
    return [skill.title, _standing(skill), last_day, _stack(reasons, "none")]


def _closing(packet: Packet, undrawn: tuple[str, ...]) -> list[tuple[str, list[Flowable]]]:
    notice = _said(packet.notice, "No notice is stated.")
    digest = grouped(packet.chain_head)
    chain = f"Records in the file: {packet.chain_length}. The digest of the newest one, to be compared by eye:"
    sections: list[tuple[str, list[Flowable]]] = [
        ("Items: kit, equipment trial, home, papers", _items(packet)),
        ("Authorisations", _authorisations(packet)),
        ("Who signed", _signatures(packet)),
        ("Cautions", [*([Text(line) for line in packet.cautions] or [_none()]), Text(strong(notice))]),
        ("The file this was printed from", [Text(chain), Text(strong(digest), style=DIGEST)]),
    ]
    if undrawn:
        told = "These letters could not be drawn; above, their numbers stand in square brackets."
        letters: list[Flowable] = [Text(told), *(Text(name(char)) for char in undrawn)]
        sections.append(("Letters that could not be drawn", letters))
    return sections


def _items(packet: Packet) -> list[Flowable]:
    if not packet.items:
        return [_none()]
    columns = [Column("Item", 4), Column("State", 2), Column("Done on", 2), Column("By", 3), Column("Valid through", 2)]
    rows: list[list[Cell]] = [
        [
            line.title,
            strong(_said(line.state)),
            day(line.done_on) if line.done_on else "not done",
            _said(line.by, "nobody" if line.done_on is None else "not stated"),
            _last(line.through) if line.done_on else "not done",
        ]
        for line in packet.items
    ]
    return [Ledger(columns, rows)]


def _authorisations(packet: Packet) -> list[Flowable]:
    if not packet.authorisations:
        return [_none()]
    columns = [Column("Skill", 4), Column("Prescriber", 4), Column("From", 2), Column("Through", 2)]
    rows: list[list[Cell]] = [
        [line.skill, _said(line.prescriber), day(line.from_day), _last(line.through_day)]
        for line in packet.authorisations
    ]
    return [Ledger(columns, rows)]


def _signatures(packet: Packet) -> list[Flowable]:
    if not packet.signatures:
        return [_none()]
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
    record = [Text(strong(_said(line.kind)), style=CELL), Text(Run(_said(line.what), struck=voided), style=CELL)]
    if line.voided_on is not None:
        record.append(Text(strong(f"Voided {day(line.voided_on)}: {_said(line.note, 'no reason stated')}"), style=CELL))
    elif line.note.strip():
        record.append(Text(line.note, style=CELL))
    who = [Text(_said(line.name), style=CELL), Text(pale(_said(line.role, "role not stated")), style=CELL)]
    at = instant(line.signed_at) if line.signed_at else "not signed"
    return [str(line.number), day(line.on), record, who, at]
