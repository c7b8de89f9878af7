"""A ledger table: a head that stands on every page, hairlines between rows, and no row lost, however tall."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from reportlab.platypus import Flowable

from training.documents.pdf.canvas import TaggedCanvas
from training.documents.pdf.flowables import CELL, HAIRLINE, INK, LABEL, Part, Style, Text
from training.documents.pdf.structure import Element
from training.documents.pdf.text import Run

GAP = 8.0  # points between columns
PAD = 3.0  # points above and below a row's text
TALL_ROW = 150.0  # points: rows up to this height are moved to the next page whole

Cell = Part | Sequence[Part | Text]


class Column(NamedTuple):
    """``share``: of the width, in any unit common to the table."""

    title: Cell
    share: float


class Row:
    """Cells of texts, one above the other. ``element`` and ``cells`` outlive a cut, so both halves are one row."""

    def __init__(self, texts: Sequence[Sequence[Text]], element: Element, cells: Sequence[Element]) -> None:
        self.texts = texts
        self.element = element
        self.cells = cells
        self.resumed = False
        self._measured: tuple[Sequence[float], float] = ((), 0.0)

    def height(self, widths: Sequence[float]) -> float:
        if self._measured[0] != widths:
            cells = zip(self.texts, widths, strict=True)
            tallest = max(sum(text.wrap(width, 0)[1] for text in texts) for texts, width in cells)
            self._measured = widths, tallest + 2 * PAD
        return self._measured[1]

    def cut(self, widths: Sequence[float], height: float) -> tuple[Row, Row] | None:
        """Divide the row so that the first part is no higher than ``height``; None when no line would fit."""
        cells = [cut_texts(texts, width, height - 2 * PAD) for texts, width in zip(self.texts, widths, strict=True)]
        if not any(head for head, _ in cells) or any(tail and not head for head, tail in cells):
            return None
        head = Row([cell[0] for cell in cells], self.element, self.cells)
        tail = Row([cell[1] for cell in cells], self.element, self.cells)
        head.resumed, tail.resumed = self.resumed, True
        return head, tail


def cut_texts(texts: Sequence[Text], width: float, height: float) -> tuple[list[Text], list[Text]]:
    """Divide texts that stand one above the other into those that fit and the rest."""
    for index, text in enumerate(texts):
        needed = text.wrap(width, 0)[1]
        if needed > height:
            parts = text.split(width, height)
            if not parts:
                return list(texts[:index]), list(texts[index:])
            return [*texts[:index], parts[0]], [*parts[1:], *texts[index + 1 :]]
        height -= needed
    return list(texts), []


def make_row(cells: Sequence[Cell], *, head: bool, row_heads: int) -> Row:
    style = LABEL if head else CELL
    elements = []
    for column in range(len(cells)):
        scope = "Column" if head else "Row" if column < row_heads else None
        elements.append(Element("TH" if scope else "TD", scope=scope))
    return Row([_texts(cell, style) for cell in cells], Element("TR"), elements)


def _texts(cell: Cell, style: Style) -> list[Text]:
    parts = [cell] if isinstance(cell, (str, Run)) else cell
    made = [part for part in parts if isinstance(part, Text)]
    return made or [Text(*(part for part in parts if not isinstance(part, Text)), style=style)]


class Ledger(Flowable):  # type: ignore[misc]
    """``rows`` hold a cell for each column: a text, the parts of one text, or a list of Texts."""

    canv: TaggedCanvas

    def __init__(self, columns: Sequence[Column], rows: Sequence[Sequence[Cell]], *, row_heads: int = 1) -> None:
        super().__init__()
        self.shares = [column.share for column in columns]
        self.head = make_row([column.title for column in columns], head=True, row_heads=0)
        self.rows = [make_row(row, head=False, row_heads=row_heads) for row in rows]
        self.element = Element("Table")
        self.resumed = False
        self.spaceAfter = 4

    def _measure(self, width: float) -> list[float]:
        room = width - GAP * (len(self.shares) - 1)
        self.widths = [room * share / sum(self.shares) for share in self.shares]
        return self.widths

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        widths = self._measure(width)
        self.heights = [row.height(widths) for row in (self.head, *self.rows)]
        self.width, self.height = width, sum(self.heights)
        return self.width, self.height

    def lead(self, width: float) -> float:
        """Height of what must follow a heading on the same page: the head and the first row, or its beginning."""
        self.wrap(width, 0)
        return sum(self.heights[:1]) + min(self.heights[1], TALL_ROW / 2)

    def split(self, width: float, height: float) -> list[Flowable]:
        self.wrap(width, height)
        left = height - self.heights[0]
        fitting = 0
        while fitting < len(self.rows) and self.heights[fitting + 1] <= left:
            left -= self.heights[fitting + 1]
            fitting += 1
        first, rest = self.rows[:fitting], self.rows[fitting:]
        if rest and self.heights[fitting + 1] > TALL_ROW and (halves := rest[0].cut(self.widths, left)):
            first, rest = [*first, halves[0]], [halves[1], *rest[1:]]
        if not first:
            return []
        return [self._part(first, resumed=self.resumed), self._part(rest, resumed=True)] if rest else [self]

    def _part(self, rows: list[Row], *, resumed: bool) -> Ledger:
        part = Ledger.__new__(Ledger)
        Flowable.__init__(part)
        part.shares, part.head, part.rows = self.shares, self.head, rows
        part.element, part.resumed = self.element, resumed
        part.spaceAfter = self.spaceAfter
        return part

    def draw(self) -> None:
        with self.canv.element(self.element, resume=self.resumed):
            y = self.height
            for index, (row, height) in enumerate(zip((self.head, *self.rows), self.heights, strict=True)):
                if index == 0 and self.resumed:
                    with self.canv.artifact("Pagination"):
                        self._draw_row(row, y)
                else:
                    self._draw_row(row, y)
                y -= height
                with self.canv.artifact():
                    self.canv.rule(0, self.width, y, *((0.4, HAIRLINE) if index else (1, INK)))

    def _draw_row(self, row: Row, y: float) -> None:
        with self.canv.element(row.element, resume=row.resumed):
            x = 0.0
            for texts, element, width in zip(row.texts, row.cells, self.widths, strict=True):
                with self.canv.element(element, resume=row.resumed):
                    self._draw_cell(texts, x, y - PAD, width)
                x += width + GAP

    def _draw_cell(self, texts: Sequence[Text], x: float, y: float, width: float) -> None:
        for text in texts:
            y -= text.wrap(width, 0)[1]
            if type(text) is Text:
                text.draw_at(self.canv, x, y)
            else:  # it draws more than its letters, from where its frame begins
                text.drawOn(self.canv, x, y)
