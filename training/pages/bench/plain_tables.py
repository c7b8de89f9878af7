"""A packet's text as reportlab's own tables and paragraphs, untagged: what the tagged packet is measured against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from io import BytesIO
from xml.sax.saxutils import escape

from reportlab.lib.styles import ParagraphStyle
from reportlab.platypus import Flowable, Paragraph, SimpleDocTemplate, Table, TableStyle

from training.documents.laying import readable
from training.documents.packet import A4, Packet, _story
from training.documents.pdf.flowables import Style, Text
from training.documents.pdf.fonts import REGULAR, STRONG
from training.documents.pdf.opening import Verdict
from training.documents.pdf.sheet import text_width
from training.documents.pdf.table import Ledger

LINES = TableStyle([("LINEBELOW", (0, 0), (-1, -1), 0.4, (0, 0, 0)), ("VALIGN", (0, 0), (-1, -1), "TOP")])


@dataclass(frozen=True, slots=True)
class Said:
    text: str
    style: Style


@dataclass(frozen=True, slots=True)
class Rows:
    """Cells of paragraphs, the head first. shares: of the width."""

    shares: Sequence[float]
    rows: Sequence[Sequence[Sequence[Said]]]


def text_of(packet: Packet) -> list[Said | Rows]:
    """Everything the packet prints, in its order, as plain text."""
    found: list[Said | Rows] = []
    for part in _story(readable(packet, {}), (), text_width(A4)):
        if isinstance(part, Text):
            found.append(_said(part))
        elif isinstance(part, Verdict):
            found += [_said(text) for text in part.texts]
        elif isinstance(part, Ledger):
            rows = [[[_said(text) for text in cell] for cell in row.texts] for row in (part.head, *part.rows)]
            found.append(Rows(part.shares, rows))
    return found


def _said(text: Text) -> Said:
    return Said("".join(g.char for g in text.glyphs if not g.run.mark), text.style)


def draw(parts: Sequence[Said | Rows]) -> bytes:
    """The same text with nothing of what makes it readable aloud."""
    styles: dict[Style, ParagraphStyle] = {}
    width = text_width(A4)
    story: list[Flowable] = []
    for part in parts:
        if isinstance(part, Said):
            story.append(_paragraph(part, styles))
            continue
        cells = [[[_paragraph(said, styles) for said in cell] for cell in row] for row in part.rows]
        widths = [width * share / sum(part.shares) for share in part.shares]
        story.append(Table(cells, colWidths=widths, repeatRows=1, style=LINES))
    buffer = BytesIO()
    SimpleDocTemplate(buffer, pagesize=A4, invariant=1, pageCompression=1).build(story)
    return buffer.getvalue()


def _paragraph(said: Said, styles: dict[Style, ParagraphStyle]) -> Paragraph:
    how = said.style
    if how not in styles:
        font = STRONG if how.strong else REGULAR
        styles[how] = ParagraphStyle("", fontName=font, fontSize=how.size, leading=how.leading)
    return Paragraph(escape(said.text), styles[how])
