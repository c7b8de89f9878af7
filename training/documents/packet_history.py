"""The packet's parts that tell of the past: bands through time, who recorded, and what was corrected."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from training.documents.history_values import BandsBlock, OriginLine, RecorderLine
from training.documents.laying import brief, none, said
from training.documents.packet_values import day
from training.documents.pdf.bands import Axis, Band
from training.documents.pdf.flowables import CELL, LABEL, SMALL, SUBHEADING, Heading, Text
from training.documents.pdf.sheet import keep_with_next
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import strong

SHAPES = (
    ("signed_off", "solid: signed off"),
    ("awaiting", "half solid: awaiting"),
    ("held", "split: held"),
    ("in_training", "low and hollow: in training"),
    ("not_started", "dotted: not started"),
    ("lapsed", "leaning strokes: lapsed"),
    ("withdrawn", "crossed strokes: withdrawn"),
    ("not_required", "ground line only: not required"),
)
AHEAD = "The upright line is the day of this document; right of it, paler, what follows if nothing more happens."


def bands(blocks: Sequence[BandsBlock], width: float) -> list[Flowable]:
    """Each caregiver's bands under a heading of their own, in a table that may run over pages."""
    if not blocks:
        return [none("No skill is asked of anybody on this day.")]
    legend = Text("; ".join(words for _shape, words in SHAPES).capitalize() + ". ", AHEAD, style=SMALL)
    story: list[Flowable] = [legend]
    for block in blocks:
        heading = Heading(3, f"{said(block.name)}: through time", style=SUBHEADING, ruled=False)
        story += keep_with_next(heading, [_ledger(block)], width)
    return story


def _ledger(block: BandsBlock) -> Ledger:
    head: Cell = [Text(f"{day(block.first)} to {day(block.last)}", style=LABEL), Axis(block.ticks)]
    columns = [Column(f"Skill of {brief(block.name)}", 1.4), Column(head, 5)]
    rows: list[list[Cell]] = []
    for line in block.lines:
        stretches = [(piece.standing, piece.start, piece.end, piece.ahead) for piece in line.pieces]
        alt = f"{line.title}, {block.name}: {line.said}"
        rows.append([line.title, [Band(stretches, block.now, alt), Text(line.said, style=CELL)]])
    return Ledger(columns, rows)


def recorders(lines: Sequence[RecorderLine]) -> list[Flowable]:
    if not lines:
        return [none()]
    columns = [
        Column("Recorded and signed by", 4), Column("As", 3), Column("Records", 1.2), Column("First", 2),
        Column("Last", 2),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [strong(said(x.name)), said(x.role), str(x.records), day(x.first), day(x.last)] for x in lines
    ]
    return [Ledger(columns, rows)]


def origins(lines: Sequence[OriginLine]) -> list[Flowable]:
    if not lines:
        return [none("Every record was written on its own day by whoever signed it, and none was corrected.")]
    columns = [
        Column("No.", 0.9), Column("Record", 4.5), Column("What it is", 3), Column("By", 2.6), Column("On", 2),
        Column("Reason, or what stands beside it", 3.6),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [str(x.number), said(x.what), strong(said(x.how)), said(x.by), day(x.on), said(x.why, "none")] for x in lines
    ]
    return [Ledger(columns, rows)]
