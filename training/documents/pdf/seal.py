"""A document's number, and the code that leads to where anybody can ask whether it is genuine and still holds."""

from __future__ import annotations

from dataclasses import dataclass

from reportlab.platypus import Flowable

from training.documents.pdf.code import Beside, draw_code, modules_of
from training.documents.pdf.flowables import SMALL, Figure, Heading, Text
from training.documents.pdf.text import strong

CODE = 84.0  # points: a module is then more than half a millimetre wide, for addresses of up to 80 letters

_ASKED = (
    "Scan the code, or type the number at the address below. The page says whether this document is genuine and "
    "whether something newer has taken its place. It names nobody."
)
_COMPARED = "It also takes the file itself and says whether one letter of it was altered."


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """address: opens the page that checks this number; plain ASCII."""

    number: str
    address: str


def sealing(seal: Seal) -> tuple[Heading, list[Flowable]]:
    """The last part of a document."""
    told = [
        Text("Document ", strong(seal.number)),
        Text(_ASKED),
        Text(_COMPARED),
        Text(seal.address, style=SMALL),
    ]
    return Heading(2, "Is this document genuine, and is it still the newest?"), [Beside(told, code_of(seal, CODE))]


def code_of(seal: Seal, size: float) -> Figure:
    """The code alone, in a square of ``size`` points."""
    modules = modules_of(seal.address)
    alt = f"Code that opens the page which checks this document: {seal.address}"
    return Figure(lambda canvas: draw_code(canvas, modules, size), size, size, alt=alt)
