"""Paragraphs, headings and figures: what a document is made of, besides tables."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable

from training.documents.pdf.canvas import Ink, TaggedCanvas
from training.documents.pdf.fonts import font
from training.documents.pdf.lines import (
    Glyph,
    Line,
    Piece,
    break_lines,
    glyphs_of,
    joined,
    reads_from_right,
    runs_of,
    set_line,
)
from training.documents.pdf.marks import draw_mark
from training.documents.pdf.structure import Element
from training.documents.pdf.text import Run, clean

INK = (0.149, 0.098, 0.169)
PALE_INK = (0.341, 0.29, 0.365)
HAIRLINE = (0.72, 0.72, 0.72)
TALLEST = 600.0  # points: what is kept in one piece is no taller, so that it fits on any page
GROUND_LINE = 1.5  # points: the 2 px of the pages

Part = str | Run


@dataclass(frozen=True, slots=True)
class Style:
    """Sizes in points."""

    size: float
    leading: float
    strong: bool = False
    pale: bool = False
    before: float = 0
    after: float = 0


BODY = Style(9.5, 13, after=3)
CELL = Style(8.5, 11)
GLANCE = Style(7.5, 9.5)
LABEL = Style(8, 10.5, strong=True, pale=True)
SMALL = Style(8, 10.5, pale=True, after=3)
TITLE = Style(21, 25, strong=True, after=4)
HEADING = Style(13, 16, strong=True, before=16, after=6)
SUBHEADING = Style(11, 14, strong=True, before=12, after=2)
DIGEST = Style(11, 15, after=3)
VERDICT = Style(21, 25, strong=True)


class Text(Flowable):  # type: ignore[misc]
    """One paragraph, taken literally, that may run over pages. Raises CannotDraw when it is made."""

    canv: TaggedCanvas

    def __init__(self, *parts: Part, style: Style = BODY, kind: str = "P") -> None:
        super().__init__()
        runs = [_run(part, style) for part in parts]
        self._begin(glyphs_of(runs), style, Element(kind), reads_from_right("".join(run.text for run in runs)))

    def _begin(self, glyphs: Sequence[Glyph], style: Style, element: Element, from_right: bool) -> None:
        self.glyphs = glyphs
        self.style = style
        self.element = element
        self.from_right = from_right
        self.resumed = False
        self.spaceBefore, self.spaceAfter = style.before, style.after
        self._broken: tuple[float, list[Sequence[Glyph]]] = (-1.0, [])

    def lines(self, width: float) -> list[Sequence[Glyph]]:
        if self._broken[0] != width:
            self._broken = width, list(break_lines(self.glyphs, width / self.style.size))
        return self._broken[1]

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.width, self.height = width, max(1, len(self.lines(width))) * self.style.leading
        return self.width, self.height

    def split(self, width: float, height: float) -> list[Flowable]:
        """Cut after the lines that fit, at least two on either side; nothing when that cannot be done."""
        lines = self.lines(width)
        fitting = min(max(0, int((height + 1e-7) // self.style.leading)), len(lines))
        if fitting == len(lines) - 1:
            fitting -= 1
        if fitting < min(2, len(lines)):
            return []
        head, tail = self._part(lines[:fitting]), self._part(lines[fitting:])
        head.resumed, tail.resumed = self.resumed, True
        head.spaceAfter = tail.spaceBefore = 0
        return [head, tail] if tail.glyphs else [head]

    def _part(self, lines: Sequence[Sequence[Glyph]]) -> Text:
        part = Text.__new__(Text)
        Flowable.__init__(part)
        part._begin(joined(lines), self.style, self.element, self.from_right)
        return part

    def draw(self) -> None:
        self.draw_at(self.canv, 0.0, 0.0)

    def draw_at(self, canvas: TaggedCanvas, x: float, y: float) -> None:
        """The letters alone, their lower left corner there: unlike drawOn, without a frame of its own."""
        lines = [set_line(glyphs) for glyphs in self.lines(self.width)]
        starts = [self._start(line, index, len(lines), x, y) for index, line in enumerate(lines)]
        if any(run.mark or run.struck for run in runs_of(self.glyphs)):
            with canvas.artifact():
                for line, start in zip(lines, starts, strict=True):
                    self._draw_shapes(canvas, line, *start)
        with canvas.element(self.element, resume=self.resumed), canvas.content():
            for line, start in zip(lines, starts, strict=True):
                self._draw_line(canvas, line, *start)

    def _start(self, line: Line, index: int, count: int, x: float, y: float) -> tuple[float, float]:
        size = self.style.size
        indent = self.width - line.width * size if self.from_right and count > 1 else 0.0
        return x + indent, y + self.height - index * self.style.leading - (self.style.leading - size) / 2 - size * 0.8

    def _draw_shapes(self, canvas: TaggedCanvas, line: Line, x: float, y: float) -> None:
        size = self.style.size
        for piece in line.pieces:
            if piece.run.mark:
                draw_mark(canvas, piece.run.mark, x, y - size * 0.16, size * 1.16)
            elif piece.run.struck:
                canvas.setStrokeColorRGB(*INK)
                canvas.setLineWidth(0.7)
                canvas.line(x, y + size * 0.27, x + piece.width * size, y + size * 0.27)
            x += piece.width * size

    def _draw_line(self, canvas: TaggedCanvas, line: Line, x: float, y: float) -> None:
        if line.spoken is None:
            draw_pieces(canvas, line.pieces, x, y, self.style.size)
            return
        with canvas.spoken(line.spoken):
            draw_pieces(canvas, line.pieces, x, y, self.style.size)


def draw_pieces(
    canvas: TaggedCanvas, pieces: Sequence[Piece], x: float, y: float, size: float, ink: Ink | None = None
) -> None:
    """From the left end of their ground line. ink: of all of them, whatever their runs ask for."""
    for piece in pieces:
        if piece.text:
            canvas.write(piece.text, font(piece.font), size, ink or (PALE_INK if piece.run.pale else INK), x, y)
        x += piece.width * size


def _run(part: Part, style: Style) -> Run:
    run = Run(part) if isinstance(part, str) else part
    if run.mark:
        return run
    return Run(run.text, run.strong or style.strong, run.italic, run.struck, run.pale or style.pale)


class Heading(Text):
    """A heading of level 1 to 3, bookmarked; ``ruled`` stands it on a ground line."""

    def __init__(self, level: int, text: str, *, style: Style = HEADING, ruled: bool = True) -> None:
        super().__init__(text, style=style, kind=f"H{level}")
        self.level = level
        self.title = " ".join(clean(text).split())
        self.foot = GROUND_LINE + 2.5 if ruled else 0.0

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        super().wrap(width, height)
        return self.width, self.height + self.foot

    def split(self, width: float, height: float) -> list[Flowable]:
        """Nothing, so that it is kept whole; only one that no page could hold is cut, as text is."""
        if self.wrap(width, 0)[1] <= TALLEST:
            return []
        parts = super().split(width, height)
        for part in parts[:-1]:
            part.foot = 0.0
        return parts

    def _part(self, lines: Sequence[Sequence[Glyph]]) -> Heading:
        part = Heading.__new__(Heading)
        Flowable.__init__(part)
        part._begin(joined(lines), self.style, self.element, self.from_right)
        part.level, part.title, part.foot = self.level, self.title, self.foot
        return part

    def draw(self) -> None:
        if not self.resumed:
            self.canv.bookmark(self.title, self.level, self.height + self.foot)
        if self.foot:
            with self.canv.artifact():
                self.canv.rule(0, self.width, GROUND_LINE / 2, GROUND_LINE, INK)
        self.canv.translate(0, self.foot)
        super().draw()


class Figure(Flowable):  # type: ignore[misc]
    """A drawing that says something of its own, with words (``alt``) for those who do not see it."""

    canv: TaggedCanvas

    def __init__(self, draw: Callable[[TaggedCanvas], None], width: float, height: float, *, alt: str) -> None:
        super().__init__()
        self.draw_inside, self.alt = draw, alt
        self.width, self.height = width, height

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        x, y = self.canv.absolutePosition(0, 0)
        box = [round(side, 2) for side in (x, y, x + self.width, y + self.height)]
        with self.canv.element(Element("Figure", alt=self.alt, box=box)), self.canv.content():
            self.draw_inside(self.canv)
