"""What a person typed, made ready to be drawn: literally, letter by letter."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from functools import cache

from training.documents.pdf.fonts import ITALIC, REGULAR, STRONG, CannotDraw, font_for

SOFT_HYPHEN = "\u00ad"
JOINERS = "\u200c\u200d"  # they steer how Arabic letters join and are not drawn themselves

_LINE_ENDS = re.compile("\r\n|[\r\x0b\x0c\x85\u2028\u2029]")
_LOOK_ALIKES = {"\t": " ", "\u2010": "-", "\u2011": "-", "\u202f": "\u00a0", "\u2007": "\u00a0"}
_SELECTORS = re.compile("[\ufe00-\ufe0f\U000e0100-\U000e01ef]")


@dataclass(frozen=True, slots=True)
class Run:
    """A stretch of text in one manner. ``mark`` is the name of a mark drawn instead of text."""

    text: str
    strong: bool = False
    italic: bool = False
    struck: bool = False
    pale: bool = False
    mark: str | None = None

    @property
    def font(self) -> str:
        if self.strong:
            return STRONG
        return ITALIC if self.italic else REGULAR


def strong(text: str) -> Run:
    return Run(text, strong=True)


def pale(text: str) -> Run:
    return Run(text, pale=True)


def mark(name: str) -> Run:
    """A mark, to be put directly before its word."""
    return Run("\ufffc", mark=name)


def clean(text: str) -> str:
    """Return ``text`` composed (NFC), its line ends as "\\n", without control and direction characters.

    Nothing else is changed: ``<b>``, ``&nbsp;`` and ``</para>`` are letters like any other. Rare spaces and hyphens
    become the plain ones that look the same.
    """
    if text.isascii() and text.isprintable():
        return text
    text = _SELECTORS.sub("", _LINE_ENDS.sub("\n", unicodedata.normalize("NFC", text)))
    return "".join(map(_plain, text))


@cache
def _plain(char: str) -> str:
    if char in _LOOK_ALIKES:
        return _LOOK_ALIKES[char]
    if char in JOINERS or char in (SOFT_HYPHEN, "\n", " ", "\u00a0"):
        return char
    category = unicodedata.category(char)
    if category in ("Cc", "Cf"):
        return ""
    return " " if category == "Zs" else char


def undrawable(text: str) -> tuple[str, ...]:
    """Return the letters of ``text`` that no embedded face can draw, each once, in order."""
    if text.isascii() and text.isprintable():
        return ()  # each face draws all of these
    text = clean(text)
    missing = {char for char in set(text) if not _drawable(char)}
    return tuple(dict.fromkeys(char for char in text if char in missing)) if missing else ()


@cache
def _drawable(char: str) -> bool:
    return char in ("\n", SOFT_HYPHEN) or char in JOINERS or font_for(char, REGULAR) is not None


def spell_out(text: str) -> str:
    """Return ``text`` with each letter that cannot be drawn as its number, such as ``[U+674E]``."""
    missing = undrawable(text)
    if not missing:
        return text
    return "".join(f"[{number(char)}]" if char in missing else char for char in clean(text))


def number(char: str) -> str:
    return f"U+{ord(char):04X}"


def name(char: str) -> str:
    """The letter's number and Unicode name, in plain capitals."""
    return f"{number(char)} {unicodedata.name(char, 'without a name')}"


def check_drawable(text: str) -> None:
    """Raise CannotDraw, naming every letter, when ``text`` could only be drawn as boxes."""
    missing = undrawable(text)
    if missing:
        raise CannotDraw(tuple(name(char) for char in missing))
