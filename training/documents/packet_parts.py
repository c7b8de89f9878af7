"""The parts of a packet that other documents show too, each as what is printed of it."""

from __future__ import annotations

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
    SkillLine,
    day,
)
from training.documents.pdf.flowables import (
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
