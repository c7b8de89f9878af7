"""Laying a story on pages: margins, what stands around the text, and headings that never end a page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from io import BytesIO
from typing import Any, NamedTuple

from reportlab.lib.pagesizes import A4, LETTER
from reportlab.lib.units import mm
from reportlab.platypus import BaseDocTemplate, CondPageBreak, Flowable, Frame, PageTemplate

from training.documents.pdf.canvas import TaggedCanvas
from training.documents.pdf.flowables import HAIRLINE, TALLEST, Heading, draw_pieces
from training.documents.pdf.fonts import REGULAR, font
from training.documents.pdf.lines import one_line
from training.documents.pdf.seal import Seal, sealing
from training.documents.pdf.table import Ledger
from training.documents.pdf.text import Run

__all__ = ["A4", "LETTER", "Furniture", "build", "keep_with_next", "text_width"]

SIDE, TOP, BOTTOM = 18 * mm, 20 * mm, 24 * mm
SIZE = 7.5
SHORT = 330.0  # points: less than half a page, with the seal


class Furniture(NamedTuple):
    """Lines around the text. The page number is added to the first line of the foot, at the right."""

    head: str
    head_right: str
    foot: str
    foot_second: str


def text_width(pagesize: tuple[float, float]) -> float:
    return pagesize[0] - 2 * float(SIDE)


def keep_with_next(heading: Heading, body: Sequence[Flowable], width: float) -> list[Flowable]:
    """Return heading and body so that the heading goes to the next page with the first lines under it."""
    need = heading.style.before + heading.wrap(width, 0)[1] + heading.style.after
    for flowable in body[:2]:
        if isinstance(flowable, Ledger):
            need += flowable.lead(width)
            break
        if isinstance(flowable, CondPageBreak):  # what follows has a heading of its own, and asks for both
            need += flowable.height
            break
        need += min(flowable.wrap(width, 0)[1], 40) + flowable.getSpaceAfter()
    return [CondPageBreak(min(need, TALLEST)), heading, *body]


def _sealed(story: Sequence[Flowable], seal: Seal, width: float) -> list[Flowable]:
    """The story and the seal after it, which takes a short last part of it along to another page."""
    heading, body = sealing(seal)
    end = [heading, *body]
    alone = CondPageBreak(_height(end, width))
    start = next((at for at in reversed(range(len(story))) if isinstance(story[at], Heading)), 0)
    together = _height([*story[start:], *end], width)
    if together > SHORT or not start:
        return [*story, alone, *end]
    return [*story[:start], CondPageBreak(together), *story[start:], *end]


def _height(parts: Sequence[Flowable], width: float) -> float:
    return sum(part.getSpaceBefore() + part.wrap(width, 0)[1] + part.getSpaceAfter() for part in parts)


def build(
    story: Sequence[Flowable],
    *,
    title: str,
    author: str,
    subject: str,
    language: str,
    made_at: datetime,
    furniture: Furniture,
    pagesize: tuple[float, float] = A4,
    seal: Seal | None = None,
    ends_sealed: bool = True,
) -> bytes:
    """Return the PDF. ``made_at`` stands in its properties: nothing here reads the clock.

    With a ``seal`` its number stands at the foot of every page, and its code at the end unless the story has it.
    """
    if seal is not None:
        story = _sealed(story, seal, text_width(pagesize)) if ends_sealed else story
        subject = f"{subject}. Document {seal.number}"
    font(REGULAR)
    buffer = BytesIO()
    document = BaseDocTemplate(
        buffer, pagesize=pagesize, title=title, author=author, subject=subject, lang=language, invariant=1,
        creator="competency-register", initialFontName=REGULAR, pageCompression=1,
    )  # fmt: skip
    frame = Frame(
        SIDE, BOTTOM, text_width(pagesize), pagesize[1] - TOP - BOTTOM,
        leftPadding=0, rightPadding=0, topPadding=0, bottomPadding=0,
    )  # fmt: skip
    document.addPageTemplates(PageTemplate(frames=[frame], pagesize=pagesize))

    def make_canvas(*args: Any, **options: Any) -> TaggedCanvas:
        canvas = TaggedCanvas(*args, **options)
        canvas.setDateFormatter(lambda *_: made_at.strftime("D:%Y%m%d%H%M%S") + _offset(made_at))
        canvas.furniture = lambda on, page, pages: _draw_furniture(on, furniture, page, pages, seal)
        canvas.showOutline()
        return canvas

    document.build(list(story), canvasmaker=make_canvas)
    return buffer.getvalue()


def _offset(moment: datetime) -> str:
    plain = moment.strftime("%z") or "+0000"
    return f"{plain[:3]}'{plain[3:5]}'"


def _draw_furniture(canvas: TaggedCanvas, furniture: Furniture, page: int, pages: int, seal: Seal | None) -> None:
    width, height = canvas._pagesize
    number = f"Document {seal.number}, " if seal else ""
    if page > 1:
        _write(canvas, furniture.head, height - 13 * mm, right=furniture.head_right)
        canvas.rule(SIDE, width - SIDE, height - 15 * mm, 0.4, HAIRLINE)
    canvas.rule(SIDE, width - SIDE, 18.5 * mm, 0.4, HAIRLINE)
    _write(canvas, furniture.foot, 14.5 * mm, right=f"{number}page {page} of {pages}")
    _write(canvas, furniture.foot_second, 11 * mm)


def _write(canvas: TaggedCanvas, text: str, y: float, *, right: str = "") -> None:
    room = text_width(canvas._pagesize)
    end = one_line(Run(right, pale=True))
    start = one_line(Run(text, pale=True), room / SIZE - end.width - 2)
    draw_pieces(canvas, start.pieces, SIDE, y, SIZE)
    draw_pieces(canvas, end.pieces, SIDE + room - end.width * SIZE, y, SIZE)
