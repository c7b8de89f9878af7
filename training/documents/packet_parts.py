"""The parts of a packet that other documents show too, each as what is printed of it."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from training.documents.laying import (
    DECIDES,
    PICTURES,
    brief,
    last,
    none,
    said,
    stack,
)
from training.documents.packet_values import (
    SENTENCES,
    CaregiverBlock,
    Packet,
    SignedLine,
    SkillLine,
    day,
    instant,
)
from training.documents.pdf.flowables import (
    CELL,
    GLANCE,
    SMALL,
    VERDICT,
    Heading,
    Part,
    Text,
)
from training.documents.pdf.opening import Verdict
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import Run, mark, pale, strong

GLANCE_NOTE = (
    "Signed off or held through the day shown, for this patient only. The reasons stand under each name, further on."
)
CAREGIVERS_ABREAST = 6


def verdict(packet: Packet) -> Verdict:
    return Verdict(
        packet.verdict,
        Heading(2, said(packet.verdict_word, "No verdict"), style=VERDICT, ruled=False),
        [Text(SENTENCES[packet.verdict], " ", strong(DECIDES))],
        alt=PICTURES.get(packet.verdict or "", ""),
    )


def exceptions(packet: Packet) -> list[Flowable]:
    if not packet.exceptions:
        return [Text(strong("Exceptions: "), "none.")]
    columns = [Column("Exception for", 3), Column("Allowed by", 3), Column("Reason", 5), Column("Last day", 2)]
    rows: list[list[Cell]] = [
        [strong(said(line.covers)), said(line.by), said(line.reason), strong(day(line.last_day))]
        for line in packet.exceptions
    ]
    return [Ledger(columns, rows)]


def missing(packet: Packet) -> list[Flowable]:
    if not packet.missing:
        return [none("Nothing is missing.")]
    rows: list[list[Cell]] = [
        [strong(said(line.title)), stack(line.lines, "no reason stated")] for line in packet.missing
    ]
    return [Ledger([Column("Missing", 3), Column("Why", 7)], rows)]


def care_plan(packet: Packet) -> list[Flowable]:
    since = f"In force since {day(packet.care_plan_since)}." if packet.care_plan_since else "No care plan is known."
    if not packet.care_plan:
        return [Text(since), none("No fact is stated.")]
    rows: list[list[Cell]] = [
        [line.title, said(line.value) if line.stated else Run("not stated", italic=True)] for line in packet.care_plan
    ]
    return [Text(since), Ledger([Column("Fact", 3), Column("Value", 7)], rows)]


def overview(packet: Packet) -> list[Flowable]:
    titles = list(dict.fromkeys(skill.title for block in packet.caregivers for skill in block.skills))
    if not titles:
        return [none() if not packet.caregivers else none("No skill is listed.")]
    tables: list[Flowable] = [Text(GLANCE_NOTE, style=SMALL)]
    for at in range(0, len(packet.caregivers), CAREGIVERS_ABREAST):
        blocks = packet.caregivers[at : at + CAREGIVERS_ABREAST]
        columns = [Column("Skill", 1.4), *(Column(brief(block.name), 1) for block in blocks)]
        tables.append(Ledger(columns, [[title, *(_glance(block, title) for block in blocks)] for title in titles]))
    return tables


def _glance(block: CaregiverBlock, title: str) -> list[Text]:
    skill = next((skill for skill in block.skills if skill.title == title), None)
    if skill is None:
        return [Text(pale("not listed"), style=GLANCE)]
    if not skill.asked:
        return [Text(*standing_cell(skill), style=GLANCE), Text(pale("not asked"), style=GLANCE)]
    if skill.last_day is None:
        return [Text(*standing_cell(skill), style=GLANCE)]
    return [Text(*standing_cell(skill), style=GLANCE), Text(day(skill.last_day, short=True), style=GLANCE)]


def standing_cell(skill: SkillLine) -> list[Part]:
    word = strong(said(skill.word, "no standing"))
    return [mark(skill.standing), word] if skill.standing else [word]


def items(packet: Packet) -> list[Flowable]:
    if not packet.items:
        return [none()]
    columns = [Column("Item", 4), Column("State", 2), Column("Done on", 2), Column("By", 3), Column("Valid through", 2)]
    rows: list[list[Cell]] = [
        [
            line.title,
            strong(said(line.state)),
            day(line.done_on) if line.done_on else "not done",
            said(line.by, "nobody" if line.done_on is None else "not stated"),
            last(line.through) if line.done_on else "not done",
        ]
        for line in packet.items
    ]
    return [Ledger(columns, rows)]


def authorisations(packet: Packet) -> list[Flowable]:
    if not packet.authorisations:
        return [none()]
    columns = [Column("Skill", 4), Column("Prescriber", 4), Column("From", 2), Column("Through", 2)]
    rows: list[list[Cell]] = [
        [line.skill, said(line.prescriber), day(line.from_day), last(line.through_day)]
        for line in packet.authorisations
    ]
    return [Ledger(columns, rows)]


def person(block: CaregiverBlock) -> list[Flowable]:
    """One caregiver: who they are, their sets, and every skill with its reasons."""
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


def signatures(lines: Sequence[SignedLine]) -> list[Flowable]:
    if not lines:
        return [none()]
    columns = [
        Column("No.", 0.9),
        Column("Date", 2.4),
        Column("Record", 6.8),
        Column("Signed by", 3.6),
        Column("At", 3.2),
    ]
    return [Ledger(columns, [_signed_row(line) for line in lines])]


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
