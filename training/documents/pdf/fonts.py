"""The faces a document is drawn in, and which letters each of them can draw.

Fira Sans draws Latin (Vietnamese too), Greek and Cyrillic; IBM Plex Sans Arabic draws the Arabic letters. Both come
from packages, are static TrueType files and are embedded as subsets.
"""

from __future__ import annotations

import re
import unicodedata
from functools import cache
from pathlib import Path
from threading import Lock
from typing import Any

import fontpkg_fira_sans
import fontpkg_ibm_plex_sans_arabic
from arabic_reshaper import ArabicReshaper
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

REGULAR, STRONG, ITALIC = "FiraSans-Regular", "FiraSans-SemiBold", "FiraSans-Italic"
ARABIC, ARABIC_STRONG = "IBMPlexSansArabic-Regular", "IBMPlexSansArabic-SemiBold"
STAND_INS = {REGULAR: ARABIC, STRONG: ARABIC_STRONG, ITALIC: ARABIC}

# A letter standing alone is drawn by its plain code: the face has no separate code for some of those forms.
SHAPER = ArabicReshaper(
    configuration={
        "delete_harakat": False,
        "use_unshaped_instead_of_isolated": True,
        "ARABIC LIGATURE ALLAH": False,
    }
)

_FOLDERS = {"FiraSans": fontpkg_fira_sans.__file__, "IBMPlexSansArabic": fontpkg_ibm_plex_sans_arabic.__file__}
_REGISTERING = Lock()


class CannotDraw(ValueError):  # noqa: N818 - a refusal is named in plain words here
    """A text holds letters that no embedded face has. ``letters`` names each of them once."""

    def __init__(self, letters: tuple[str, ...]) -> None:
        self.letters = letters
        super().__init__("No embedded face can draw " + ", ".join(letters))


class _Font(TTFont):  # type: ignore[misc]
    """A face whose text reads back as it was typed: joined Arabic forms are named by their plain letters.

    reportlab names unused codes U+0000, which PDF/UA-1 forbids; they are left out.
    """

    def splitString(  # noqa: N802 - reportlab's name
        self, text: str, doc: Any, encoding: str = "utf-8"
    ) -> list[tuple[int, bytes]]:
        """The codes of a text, by subset. Those of plain ASCII are its own, which reportlab finds letter by letter."""
        if doc in self.state and text.isascii() and text.isprintable():
            return [(0, text.encode())]
        found: list[tuple[int, bytes]] = super().splitString(text, doc, encoding)
        return found

    def addObjects(self, doc: Any) -> None:  # noqa: N802 - reportlab's name
        subsets = list(self.state[doc].subsets)
        super().addObjects(doc)
        for number, subset in enumerate(subsets):
            name = doc.idToObject["BasicFonts"].dict[f"{doc.fontMapping[self.fontName][1:]}+{number}"].BaseFont
            stream = doc.idToObject[f"toUnicodeCMap:{name}"]
            stream.content = _name_letters(stream.content, subset)


def _name_letters(cmap: str, subset: list[int]) -> str:
    rows = [f"<{code:02X}> <{_plain_letters(letter)}>" for code, letter in enumerate(subset) if letter]
    table = f"{len(rows)} beginbfchar\n" + "\n".join(rows) + "\nendbfchar"
    return re.sub(r"\d+ beginbfchar.*endbfchar", table, cmap, flags=re.DOTALL)


def _plain_letters(letter: int) -> str:
    joined = 0xFB50 <= letter <= 0xFDFF or 0xFE70 <= letter <= 0xFEFF
    plain = unicodedata.normalize("NFKC", chr(letter)) if joined else chr(letter)
    return plain.encode("utf-16-be").hex().upper()


def font(name: str) -> TTFont:
    """Return one of the faces, registered with reportlab on first use."""
    with _REGISTERING:
        return _load(name)


@cache
def _load(name: str) -> TTFont:
    face = _Font(name, str(Path(_FOLDERS[name.partition("-")[0]]).parent / "files" / f"{name}.ttf"))
    pdfmetrics.registerFont(face)
    return face


@cache
def font_for(char: str, wanted: str) -> str | None:
    """Name the face that draws ``char`` where ``wanted`` is asked for; None when there is none."""
    if ord(char) in font(wanted).face.charToGlyph:
        return wanted
    stand_in = STAND_INS[wanted]
    return stand_in if _has_every_form(char, stand_in) else None


def _has_every_form(char: str, name: str) -> bool:
    """Say whether the face has the letter and the forms it takes inside a word."""
    have = font(name).face.charToGlyph
    forms = SHAPER.letters.get(char)
    if forms is None and unicodedata.category(char) == "Lo" and ord(char) < 0xFB50:
        return False  # a letter nobody knows how to join
    return ord(char) in have and all(ord(form) in have for form in (forms or ())[1:] if form)


class Letters(dict[str, float]):
    """Widths of letters of a size of 1 as one face draws them, each looked up once."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.face = font(name).face

    def __missing__(self, char: str) -> float:
        width = self[char] = float(self.face.getCharWidth(ord(char))) / 1000
        return width

    def has_all(self, text: str) -> bool:
        """Say whether the face draws every letter of ``text`` itself."""
        return self.face.charToGlyph.keys() >= set(map(ord, text))


@cache
def letters_of(name: str) -> Letters:
    return Letters(name)
