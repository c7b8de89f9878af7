"""The tree that says what each piece of a page is: heading, paragraph, table, row, cell, figure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFDocument, PDFName, PDFObject, PDFPage, PDFString


class Element:
    """A node of the tree. Its kids are nodes and (page index, number of the marked content on that page)."""

    def __init__(self, kind: str, *, alt: str | None = None, scope: str | None = None, box: Any = None) -> None:
        self.kind = kind
        self.alt = alt
        self.scope = scope
        self.box = box
        self.kids: list[Element | tuple[int, int]] = []


class Node(PDFObject):  # type: ignore[misc]
    """An element as it is written: one of thousands, so in one go, where reportlab's dictionaries write key by key."""

    def __init__(self, element: Element, parent: Any) -> None:
        self.element = element
        self.parent = parent
        self.kids: list[Any] = []  # references to nodes, and (reference to a page, number)

    def format(self, document: PDFDocument) -> bytes:
        keys = [b"/K " + _array([self._kid(kid, document) for kid in self.kids])]
        keys.append(b"/P %b /S /%b /Type /StructElem" % (self.parent.format(document), self.element.kind.encode()))
        return b"<<\n%b\n>>" % b" ".join([*self._manner(document), *keys])

    def _manner(self, document: PDFDocument) -> list[bytes]:
        """What few elements have."""
        found = []
        if self.element.box:
            box = PDFArray(self.element.box).format(document)
            found.append(b"/A <<\n/BBox %b /O /Layout /Placement /Block\n>>" % box)
        elif self.element.scope:
            found.append(b"/A <<\n/O /Table /Scope /%b\n>>" % self.element.scope.encode())
        if self.element.alt is not None:
            found.append(b"/Alt " + PDFString(self.element.alt).format(document))
        return found

    @staticmethod
    def _kid(kid: Any, document: PDFDocument) -> bytes:
        if not isinstance(kid, tuple):
            return bytes(kid.format(document))
        page, number = kid
        return b"<<\n/MCID %d /Pg %b /Type /MCR\n>>" % (number, page.format(document))


def _array(parts: list[bytes]) -> bytes:
    """A PDF array, ten to a line as reportlab writes it."""
    tens = (b" ".join(parts[at : at + 10]) for at in range(0, len(parts), 10))
    return b"[ " + b" \n  ".join(tens) + b" ]"


class TreeWriter:
    """Writes a finished tree into a document's catalogue."""

    def __init__(self, document: PDFDocument, pages: Sequence[PDFPage]) -> None:
        self.document = document
        self.pages = [document.Reference(page) for page in pages]
        self.references: dict[Element, Any] = {}

    def write(self, root: Element, contents: Sequence[Sequence[Element]]) -> None:
        """``contents``: for each page, the element each piece of marked content belongs to, by number."""
        tree = PDFDictionary({"Type": PDFName("StructTreeRoot")})
        tree["K"] = PDFArray([self._node(root, self.document.Reference(tree))])
        rows: list[Any] = []
        for index, owners in enumerate(contents):
            rows += [index, self.document.Reference(PDFArray([self.references[owner] for owner in owners]))]
        tree["ParentTree"] = self.document.Reference(PDFDictionary({"Nums": PDFArray(rows)}))
        tree["ParentTreeNextKey"] = len(contents)
        self.document.Catalog.StructTreeRoot = tree
        self.document.Catalog.MarkInfo = PDFDictionary({"Marked": "true"})

    def _node(self, element: Element, parent: Any) -> Any:
        node = Node(element, parent)
        reference = self.references[element] = self.document.Reference(node)
        node.kids = [
            self._node(kid, reference) if isinstance(kid, Element) else (self.pages[kid[0]], kid[1])
            for kid in element.kids
        ]
        return reference
