"""reportlab's canvas, with every stroke either named in the structure tree or declared an artifact (PDF/UA-1)."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import cache
from typing import Any
from xml.sax.saxutils import escape

from reportlab import rl_config
from reportlab.pdfbase.pdfdoc import XMP, PDFDocument, PDFName, PDFPage
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from training.documents.pdf.structure import Element, TreeWriter

Ink = tuple[float, float, float]

rl_config.useA85 = 0  # what is packed stays bytes: written as letters it takes a quarter more room, and longer

_METADATA = """<?xpacket begin="\ufeff" id="W5M0MpCehiHzreSzNTczkc9d"?>
<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/"
 xmlns:pdfuaid="http://www.aiim.org/pdfua/ns/id/">
<dc:title><rdf:Alt><rdf:li xml:lang="x-default">{title}</rdf:li></rdf:Alt></dc:title>
<dc:language><rdf:Bag><rdf:li>{language}</rdf:li></rdf:Bag></dc:language>
<pdfuaid:part>1</pdfuaid:part></rdf:Description></rdf:RDF></x:xmpmeta>
<?xpacket end="w"?>"""


@cache
def _colour(ink: Ink) -> str:
    return " ".join(map(_number, ink))


def _number(value: float) -> str:
    """To a thousandth of a point."""
    return f"{round(value, 3):.10g}"


def _escaped(text: str) -> str:
    """For metadata. The words that end a stream are written so that who looks for them without counting finds none."""
    return escape(text).replace("endstream", "end&#115;tream").replace("endobj", "end&#111;bj")


class _PlainXMP(XMP):  # type: ignore[misc]
    """Metadata must stay readable without unpacking; reportlab would compress it."""

    def format(self, doc: PDFDocument) -> bytes:
        content: bytes = self.makeContent(doc)
        head = b"<< /Type /Metadata /Subtype /XML /Length %d >>\nstream\n" % len(content)
        return head + content + b"\nendstream\n"


class TaggedCanvas(Canvas):  # type: ignore[misc]
    """Set ``furniture`` to a function (canvas, page, pages) that draws what stands around each page's text."""

    _code: list[str]  # reportlab's: the current page's stream

    def __init__(self, *args: Any, **options: Any) -> None:
        super().__init__(*args, **{**options, "pdfVersion": (1, 7)})
        self.language = options["lang"]
        self.furniture: Callable[[TaggedCanvas, int, int], None] = lambda canvas, page, pages: None
        self._root = self._current = Element("Document")
        self._pages: list[PDFPage] = []
        self._contents: list[list[Element]] = [[]]
        self._silent = False
        self._bookmarks = 0

    def write(self, text: str, face: TTFont, size: float, ink: Ink, x: float, y: float) -> None:
        """Letters in the order in which they stand. One of thousands: reportlab's own text objects take far longer."""
        shown = " ".join(
            f"{face.getSubsetInternalName(subset, self._doc)} {_number(size)} Tf ({self._escape(codes)}) Tj"
            for subset, codes in face.splitString(text, self._doc)
        )
        self._code.append(f"BT 1 0 0 1 {_number(x)} {_number(y)} Tm {_colour(ink)} rg {shown} ET")

    def rule(self, x: float, right: float, y: float, weight: float, ink: Ink) -> None:
        """A level line."""
        at = _number(y)
        ends = f"n {_number(x)} {at} m {_number(right)} {at} l S"
        self._code.append(f"{_number(weight)} w {_colour(ink)} RG {ends}")

    def bookmark(self, title: str, level: int, y: float) -> None:
        """Name the place ``y`` on this page; level 1 is the outermost."""
        self._bookmarks += 1
        self.bookmarkHorizontal(f"place-{self._bookmarks}", 0, y)
        self.addOutlineEntry(title, f"place-{self._bookmarks}", level=level - 1, closed=False)

    @contextmanager
    def element(self, element: Element, *, resume: bool = False) -> Iterator[None]:
        """What is drawn inside belongs to ``element``. ``resume`` one that was begun on an earlier page."""
        if self._silent:
            yield
            return
        above = self._current
        if not resume:
            above.kids.append(element)
        self._current = element
        yield
        self._current = above

    @contextmanager
    def content(self) -> Iterator[None]:
        """Mark what is drawn inside as the current element's own."""
        if self._silent:
            yield
            return
        owners = self._contents[-1]
        self._current.kids.append((len(self._pages), len(owners)))
        self._code.append(f"/{self._current.kind} <</MCID {len(owners)}>> BDC")
        owners.append(self._current)
        yield
        self._code.append("EMC")

    @contextmanager
    def spoken(self, text: str) -> Iterator[None]:
        """Say how the letters drawn inside are to be read."""
        self._code.append(f"/Span <</ActualText <FEFF{text.encode('utf-16-be').hex().upper()}>>> BDC")
        yield
        self._code.append("EMC")

    @contextmanager
    def artifact(self, kind: str = "Layout") -> Iterator[None]:
        """Declare what is drawn inside as no part of the text: a rule, a mark beside its word, a repeated head."""
        self._silent = True
        self._code.append(f"/Artifact <</Type /{kind}>> BDC")
        yield
        self._code.append("EMC")
        self._silent = False

    def showPage(self) -> None:  # noqa: N802 - reportlab's name
        super().showPage()
        page = self._doc.Pages[-1]
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents", "Tabs"]  # PDFPage drops keys it does not list
        page.StructParents, page.Tabs = len(self._pages), PDFName("S")
        self._pages.append(page)
        self._contents.append([])

    def save(self) -> None:
        self._draw_furniture()
        TreeWriter(self._doc, self._pages).write(self._root, self._contents[: len(self._pages)])
        metadata = _METADATA.format(title=_escaped(self._doc.info.title), language=_escaped(self.language))
        self._doc.Catalog.Metadata = _PlainXMP(creator=lambda _: metadata.encode())
        self.setViewerPreference("DisplayDocTitle", "true")
        super().save()

    def _draw_furniture(self) -> None:
        """Only now is the number of pages known, so this is put at the end of each page's stream."""
        for index, page in enumerate(self._pages):
            with self.artifact("Pagination"):
                self.furniture(self, index + 1, len(self._pages))
            page.stream += "\n".join(self._code) + "\n"
            self._code = []
