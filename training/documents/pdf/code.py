"""The square code a camera reads, and texts beside it."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.graphics.barcode.qr import QrCodeWidget
from reportlab.platypus import Flowable

from training.documents.pdf.canvas import TaggedCanvas
from training.documents.pdf.flowables import Figure, Text

QUIET = 4  # modules of white around a code, as its standard asks


def modules_of(text: str) -> list[list[bool]]:
    """The code as rows of squares, true where dark; repairable to about 15 % (level M)."""
    widget = QrCodeWidget(text, barLevel="M")
    widget.qr.make()
    side = range(widget.qr.getModuleCount())
    return [[bool(widget.qr.isDark(row, column)) for column in side] for row in side]


def draw_code(canvas: TaggedCanvas, modules: Sequence[Sequence[bool]], size: float) -> None:
    """Fill the dark squares, each stretch of a row as one rectangle, in a square of ``size`` points."""
    one = size / (len(modules) + 2 * QUIET)
    path = canvas.beginPath()
    for row, line in enumerate(modules):
        y = size - (row + QUIET + 1) * one
        start = None
        for column, dark in enumerate([*line, False]):
            if dark and start is None:
                start = column
            elif not dark and start is not None:
                path.rect((start + QUIET) * one, y, (column - start) * one, one)
                start = None
    canvas.setFillGray(0)
    canvas.drawPath(path, stroke=0, fill=1)


class Beside(Flowable):  # type: ignore[misc]
    """Texts with a figure at their right. Never divided."""

    canv: TaggedCanvas

    def __init__(self, texts: Sequence[Text], figure: Figure) -> None:
        super().__init__()
        self.texts, self.figure = texts, figure
        self.spaceAfter = 4

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.room = width - self.figure.width - 12
        inner = sum(text.wrap(self.room, height)[1] + text.style.after for text in self.texts)
        self.width, self.height = width, max(inner, self.figure.height)
        return self.width, self.height

    def draw(self) -> None:
        y = self.height
        for text in self.texts:
            y -= text.wrap(self.room, y)[1]
            text.drawOn(self.canv, 0, y)
            y -= text.style.after
        self.figure.drawOn(self.canv, self.width - self.figure.width, self.height - self.figure.height)
