"""Breaking text into lines, and putting each line into the order in which it is drawn.

Lines are broken in the order of reading. Only then are the Arabic letters of each line joined and its stretches
reordered (Unicode bidirectional algorithm; the levels come from python-bidi).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from typing import NamedTuple

from bidi.bidi import get_display_inner  # type: ignore[import-untyped]
from bidi.mirror import MIRRORED  # type: ignore[import-untyped]

from training.documents.pdf.fonts import SHAPER, font_for, width_of
from training.documents.pdf.text import JOINERS, SOFT_HYPHEN, Run, check_drawable, clean

MARK_WIDTH = 1.5  # of the size, its gap to the word included
_MIRROR = str.maketrans(MIRRORED)
_LEVEL = re.compile(r"Level\(\s+(\d+)")


class Glyph(NamedTuple):
    char: str
    run: Run
    width: float  # of a size of 1
    level: int  # odd: read from right to left


class Piece(NamedTuple):
    """Letters drawn with one font, already in the order in which they stand on the paper."""

    text: str
    font: str
    run: Run
    width: float


class Line(NamedTuple):
    pieces: tuple[Piece, ...]
    width: float
    spoken: str | None  # the text in reading order, where the pieces differ from it


def glyphs_of(runs: Iterable[Run]) -> list[Glyph]:
    """Return the letters in reading order. Raises CannotDraw."""
    letters = [(char, run) for run in runs for char in (run.text if run.mark else _checked(run.text))]
    levels = _levels("".join(char for char, _ in letters))
    return [Glyph(char, run, _width(char, run), level) for (char, run), level in zip(letters, levels, strict=True)]


def _checked(text: str) -> str:
    check_drawable(text)
    return clean(text)


def _width(char: str, run: Run) -> float:
    if run.mark:
        return MARK_WIDTH
    if char == SOFT_HYPHEN or char == "\n" or char in JOINERS:
        return 0.0
    return width_of(char, _font(char, run)) / 1000


def _font(char: str, run: Run) -> str:
    name = font_for(char, run.font)
    if name is None:
        raise AssertionError(f"{char!r} was checked before")
    return name


def reads_from_right(text: str) -> bool:
    """Say whether a text is Arabic at heart: it begins so, and at least three letters of four are."""
    kinds = [unicodedata.bidirectional(char) for char in text]
    letters = [kind in ("R", "AL") for kind in kinds if kind in ("L", "R", "AL")]
    return bool(letters) and letters[0] and sum(letters) * 4 >= len(letters) * 3


def _levels(text: str) -> list[int]:
    if text.isascii() or all(unicodedata.bidirectional(char) not in ("R", "AL", "AN") for char in text):
        return [0] * len(text)
    # The only way python-bidi tells its levels: as text, one a byte of UTF-8, before those of the paragraphs.
    told = get_display_inner(text, "R" if reads_from_right(text) else "L", True)
    levels = [int(found) for found in _LEVEL.findall(told.partition("\n    levels: [")[2].partition("\n    ],")[0])]
    if len(levels) != len(text.encode()):
        raise RuntimeError("python-bidi tells its levels in a way this version does not know")
    ends = [0]
    for char in text:
        ends.append(ends[-1] + len(char.encode()))
    return [levels[at] for at in ends[:-1]]


def break_lines(glyphs: Sequence[Glyph], room: float) -> Iterator[Sequence[Glyph]]:
    """Yield lines no wider than ``room`` (in sizes): at spaces, hyphens and soft hyphens, else inside a word."""
    start = best = 0
    used = 0.0
    for at, glyph in enumerate(glyphs):
        if used + glyph.width > room and glyph.char not in " \n" and at > start:
            cut = best if best > start else at
            yield glyphs[start:cut]
            start, used = cut, sum(g.width for g in glyphs[cut:at])
        used += glyph.width
        if glyph.char == "\n":
            yield glyphs[start : at + 1]
            start, used = at + 1, 0.0
        elif _may_end(glyphs, at, room - used):
            best = at + 1
    if start < len(glyphs):
        yield glyphs[start:]


def _may_end(glyphs: Sequence[Glyph], at: int, left: float) -> bool:
    char = glyphs[at].char
    if char in " ]":  # the bracket ends a letter spelled out by its number
        return True
    if char == SOFT_HYPHEN:
        return left >= width_of("-", glyphs[at].run.font) / 1000
    if char not in "-/" or at == 0 or at + 1 == len(glyphs):
        return False
    return glyphs[at - 1].char.isalnum() and glyphs[at + 1].char.isalpha()


def set_line(glyphs: Sequence[Glyph]) -> Line:
    """Join and reorder one broken line."""
    shown = [g for g in glyphs if g.char not in ("\n", SOFT_HYPHEN)]
    if glyphs and glyphs[-1].char == SOFT_HYPHEN:
        shown.append(glyphs[-1])  # drawn as a hyphen, and read back as the soft one it is
    while len(shown) > 1 and shown[-1].char == " " and shown[-1].level:
        shown.pop()  # a space at the end of a line from the right would stand before its first letter
    stretches = [list(stretch) for _, stretch in groupby(shown, key=lambda g: (g.level, g.run))]
    pieces = tuple(piece for stretch in _visual(stretches) for piece in _pieces(stretch))
    odd = any(g.level or g.char in JOINERS for g in shown) or len(shown) != len([g for g in glyphs if g.char != "\n"])
    spoken = "".join(g.char for g in glyphs if g.char != "\n" and not g.run.mark) if odd else None
    return Line(pieces, sum(piece.width for piece in pieces), spoken)


def one_line(run: Run, room: float | None = None) -> Line:
    """Set a text on one line, whatever its length; cut it with three dots where it is wider than ``room``."""
    glyphs = glyphs_of([replace(run, text=run.text.replace("\n", " "))])
    if room is not None and sum(g.width for g in glyphs) > room:
        dots = glyphs_of([replace(run, text="…")])
        while glyphs and sum(g.width for g in glyphs) + dots[0].width > room:
            glyphs.pop()
        glyphs += dots
    return set_line(glyphs)


def _visual(stretches: list[list[Glyph]]) -> list[list[Glyph]]:
    """Rule L2: from the highest level down, turn round what stands at that level or above."""
    for level in range(max((s[0].level for s in stretches), default=0), 0, -1):
        turned: list[list[Glyph]] = []
        for inside, group in groupby(stretches, key=lambda s: s[0].level >= level):
            together = list(group)
            turned += together[::-1] if inside else together
        stretches = turned
    return stretches


def _pieces(stretch: list[Glyph]) -> Iterator[Piece]:
    run = stretch[0].run
    if run.mark:
        yield Piece("", run.font, run, MARK_WIDTH)
        return
    text = "".join(g.char for g in stretch)
    if any(char in SHAPER.letters for char in text):
        text = SHAPER.reshape(text)
    text = "".join(char for char in text if char not in JOINERS)
    if stretch[0].level % 2:
        text = text[::-1].translate(_MIRROR)
    for name, chars in groupby(text, key=lambda char: _font(char, run)):
        same = "".join(chars)
        yield Piece(same, name, run, sum(width_of(char, name) for char in same) / 1000)
