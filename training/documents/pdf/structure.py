"""The tree that says what each piece of a page is: heading, paragraph, table, row, cell, figure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from reportlab.pdfbase.pdfdoc import PDFArray, PDFDictionary, PDFDocument, PDFName, PDFPage, PDFString


class Element:
    """A node of the tree. Its kids are nodes and (page index, number of the marked content on that page)."""

    def __init__(self, kind: str, *, alt: str | None = None, scope: str | None = None, box: Any = None) -> None:
        self.kind = kind
        self.alt = alt
        self.scope = scope
        self.box = box
        self.kids: list[Element | tuple[int, int]] = []


class TreeWriter:
    """Writes a finished tree into a document's catalogue."""

    def __init__(self, document: PDFDocument, pages: Sequence[PDFPage]) -> None:
        self.document = document
        self.pages = pages
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
        node = PDFDictionary({"Type": PDFName("StructElem"), "S": PDFName(element.kind), "P": parent})
        reference = self.references[element] = self.document.Reference(node)
        if element.alt is not None:
            node["Alt"] = PDFString(element.alt)
        if element.scope:
            node["A"] = PDFDictionary({"O": PDFName("Table"), "Scope": PDFName(element.scope)})
        if element.box:
            layout = {"O": PDFName("Layout"), "BBox": PDFArray(element.box), "Placement": PDFName("Block")}
            node["A"] = PDFDictionary(layout)
        node["K"] = PDFArray([self._kid(kid, reference) for kid in element.kids])
        return reference

    def _kid(self, kid: Element | tuple[int, int], reference: Any) -> Any:
        if isinstance(kid, Element):
            return self._node(kid, reference)
        page, number = kid
        return PDFDictionary({"Type": PDFName("MCR"), "Pg": self.document.Reference(self.pages[page]), "MCID": number})
