"""Standings as bands through time: shapes in black, told apart without colour, each with its words (``alt``)."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from training.documents.pdf.canvas import TaggedCanvas
from training.documents.pdf.flowables import CELL, INK, LABEL, PALE_INK, Ink, Style, Text, draw_pieces
from training.documents.pdf.lines import one_line
from training.documents.pdf.structure import Element
from training.documents.pdf.text import Run

HIGH = 9.0  # points
AHEAD: Ink = (0.6, 0.58, 0.61)
AXIS = 6.5  # size of its letters
HATCH = 5.0  # points between the strokes of a leaning band

Stretch = tuple[str, float, float, bool]  # standing, start and end as shares of the width, whether it lies ahead


class Drawn(Text):
    """Something of a fixed height that stands in a cell among its texts and is never cut."""

    def __init__(self, height: float, style: Style, element: Element) -> None:
        Flowable.__init__(self)
        self._begin([], style, element, False)
        self.fixed = height

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, self.height = width, self.fixed
        return width, self.fixed

    def split(self, width: float, height: float) -> list[Flowable]:
        return []


class Axis(Drawn):
    """Labels along a time line. The dates stand in words beside the bands, so this is no part of the text."""

    def __init__(self, ticks: Sequence[tuple[float, str]]) -> None:
        super().__init__(AXIS + 4, LABEL, Element("P"))
        self.ticks = [(share, one_line(Run(label, pale=True))) for share, label in ticks]

    def draw(self) -> None:
        code = self.canv._code
        silent = self.canv._silent  # in a head that is repeated, which is an artifact as a whole
        if not silent:
            code.append("/Artifact <</Type /Layout>> BDC")
        free = 0.0
        for share, line in self.ticks:
            x = share * self.width
            self.canv.rule(x, x + 0.4, 1, 2, PALE_INK)
            if x >= free and x + line.width * AXIS <= self.width:
                draw_pieces(self.canv, line.pieces, x, 4, AXIS, PALE_INK)
                free = x + line.width * AXIS + 3
        if not silent:
            code.append("EMC")


class Band(Drawn):
    """One skill's stretches, with a line at the document's day."""

    def __init__(self, stretches: Sequence[Stretch], now: float, alt: str) -> None:
        super().__init__(HIGH + 3, CELL, Element("Figure", alt=alt))
        self.stretches, self.now = stretches, now

    def draw(self) -> None:
        x, y = self.canv.absolutePosition(0, 0)
        self.element.box = [round(side, 2) for side in (x, y, x + self.width, y + self.height)]
        with self.canv.element(self.element), self.canv.content():
            self.canv.saveState()
            for standing, start, end, ahead in self.stretches:
                self._stretch(standing, start * self.width, end * self.width, AHEAD if ahead else INK)
            now = self.now * self.width
            self.canv.setDash()
            self.canv.setLineWidth(1)
            self.canv.setStrokeColorRGB(*INK)
            self.canv.line(now, 0.5, now, self.height)
            self.canv.restoreState()

    def _stretch(self, standing: str, left: float, right: float, ink: Ink) -> None:
        canvas, width = self.canv, max(right - left, 0.3)
        canvas.setFillColorRGB(*ink)
        canvas.setStrokeColorRGB(*ink)
        canvas.setLineWidth(0.7)
        canvas.setDash(*DASHES.get(standing, ()))
        for bottom, high in FILLED.get(standing, ()):
            canvas.rect(left, bottom, width, high, stroke=0, fill=1)
        for bottom, high in OUTLINED.get(standing, ()):
            canvas.rect(left + 0.35, bottom + 0.35, max(width - 0.7, 0.1), high - 0.7, stroke=1, fill=0)
        if standing in LEANING:
            _lean(canvas, left, left + width, LEANING[standing])
        canvas.setDash()
        canvas.line(left, 1, left + width, 1)


# Heights above the ground line, of a band of HIGH points.
FILLED = {
    "signed_off": ((1, HIGH),),
    "awaiting": ((1, HIGH / 2),),
    "held": ((1, HIGH / 3), (1 + 2 * HIGH / 3, HIGH / 3)),
}
OUTLINED = {
    "awaiting": ((1, HIGH),),
    "in_training": ((1, HIGH / 2),),
    "not_started": ((1, HIGH),),
    "lapsed": ((1, HIGH),),
    "withdrawn": ((1, HIGH),),
}
DASHES: dict[str, tuple[list[float]]] = {"not_started": ([1.0, 1.6],)}
LEANING = {"lapsed": (True,), "withdrawn": (True, False)}


def _lean(canvas: TaggedCanvas, left: float, right: float, ways: Sequence[bool]) -> None:
    """Strokes that lean to the right, and to the left where both are asked for, kept inside."""
    path = canvas.beginPath()
    x = left
    while x + HIGH <= right:
        for rising in ways:
            path.moveTo(x, 1 if rising else 1 + HIGH)
            path.lineTo(x + HIGH, 1 + HIGH if rising else 1)
        x += HATCH
    canvas.drawPath(path, stroke=1, fill=0)
