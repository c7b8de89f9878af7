"""What only a checklist to be filled in by hand needs: places to write in."""

from __future__ import annotations

from reportlab.platypus import Flowable

from training.documents.pdf.flowables import BODY, INK, PALE_INK, Style, Text
from training.documents.pdf.table import Ledger


class Blank(Text):
    """An empty place to write in: a line, or a box ``across`` points wide. It is never divided."""

    def __init__(self, height: float, *, across: float | None = None, style: Style = BODY) -> None:
        super().__init__("", style=style)
        self.room, self.across = height, across

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, self.height = width, self.room
        return self.width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        return []

    def draw(self) -> None:
        with self.canv.artifact():
            if self.across is None:
                self.canv.rule(0, self.width, 2, 0.5, PALE_INK)
            else:
                self.canv.setLineWidth(0.9)
                self.canv.setStrokeColorRGB(*INK)
                self.canv.rect(0.5, 1, min(self.across, self.width - 1), self.room - 3, stroke=1, fill=0)
        super().draw()


class Fill(Ledger):
    """A ledger of one or two rows to be filled in: it stays whole, and each place has a line of its own."""

    def split(self, width: float, height: float) -> list[Flowable]:
        return []

    def draw(self) -> None:
        with self.canv.element(self.element):
            y = self.height
            for row, height in zip((self.head, *self.rows), self.heights, strict=True):
                self._draw_row(row, y)
                y -= height
