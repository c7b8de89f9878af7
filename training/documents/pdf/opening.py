"""How a document opens: the ruled line on which its date stands, and the verdict."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from training.documents.pdf.canvas import Ink, TaggedCanvas
from training.documents.pdf.flowables import (
    GROUND_LINE,
    INK,
    PALE_INK,
    Figure,
    Heading,
    Text,
    draw_pieces,
)
from training.documents.pdf.lines import Line, one_line
from training.documents.pdf.marks import MARKS, draw_mark
from training.documents.pdf.structure import Element
from training.documents.pdf.text import Run

MARK_HEIGHT = 42.0
TAB = 22.0  # height of the black tab the date stands in
TICK = 18.0  # points between the ticks of the line


class Verdict(Flowable):  # type: ignore[misc]
    """The verdict's mark with its word and sentences beside it, on a ground line. Never divided."""

    canv: TaggedCanvas

    def __init__(self, mark: str | None, heading: Heading, sentences: Sequence[Text], *, alt: str) -> None:
        super().__init__()
        self.texts = [heading, *sentences]
        self.figure: Figure | None = None
        if mark:
            shape = MARKS[mark]
            width = MARK_HEIGHT * shape.width / shape.height
            self.figure = Figure(lambda on: draw_mark(on, mark, 0, 0, MARK_HEIGHT), width, MARK_HEIGHT, alt=alt)
        self.spaceBefore, self.spaceAfter = 10, 4

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.indent = self.figure.width + 12 if self.figure else 0.0
        inner = sum(text.wrap(width - self.indent, height)[1] for text in self.texts)
        self.width, self.height = width, max(inner, MARK_HEIGHT) + 5
        return self.width, self.height

    def draw(self) -> None:
        with self.canv.artifact():
            self.canv.rule(0, self.width, GROUND_LINE / 2, GROUND_LINE, INK)
        if self.figure:
            self.figure.drawOn(self.canv, 0, GROUND_LINE / 2 - 0.6)
        y = self.height
        for text in self.texts:
            y -= text.wrap(self.width - self.indent, y)[1]
            text.drawOn(self.canv, self.indent, y)


class Dateline(Flowable):  # type: ignore[misc]
    """The ruled line every document hangs from, with its date standing on it; beside it, when this was known."""

    canv: TaggedCanvas

    def __init__(self, day: str, known: str) -> None:
        super().__init__()
        self.day, self.known = one_line(Run(day, strong=True)), one_line(Run(known))
        self.spaceBefore, self.spaceAfter = 6, 8

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, self.height = width, TAB + 8
        return self.width, self.height

    def draw(self) -> None:
        with self.canv.artifact():
            self.canv.setFillColorRGB(*INK)
            self.canv.rect(0, 5, self.day.width * 11 + 18, TAB, stroke=0, fill=1)
            self.canv.rule(0, self.width, 5, GROUND_LINE, INK)
            self.canv.setLineWidth(0.6)
            for tick in range(int(self.width // TICK) + 1):
                self.canv.line(tick * TICK + 0.3, 5, tick * TICK + 0.3, 1.5)
        self._write(self.day, 11, 9, (1, 1, 1))
        self._write(self.known, 9, self.width - self.known.width * 9, PALE_INK)

    def _write(self, line: Line, size: float, x: float, ink: Ink) -> None:
        with self.canv.element(Element("P")), self.canv.content():
            draw_pieces(self.canv, line.pieces, x, 12.5, size, ink)
