"""Breaking text into lines, and putting each line into the order in which it is drawn.

Lines are broken in the order of reading. Only then are the Arabic letters of each line joined and its stretches
reordered (Unicode bidirectional algorithm; the levels come from python-bidi).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import chain, groupby, repeat
from operator import itemgetter
from typing import NamedTuple, overload

from bidi.bidi import get_display_inner  # type: ignore[import-untyped]
from bidi.mirror import MIRRORED  # type: ignore[import-untyped]

from training.documents.pdf.fonts import SHAPER, font_for, letters_of
from training.documents.pdf.text import JOINERS, SOFT_HYPHEN, Run, check_drawable, clean

MARK_WIDTH = 1.5  # of the size, its gap to the word included
_MIRROR = str.maketrans(MIRRORED)
_FROM_RIGHT = frozenset({"R", "AL", "AN"})
_SHAPED = frozenset(SHAPER.letters) | frozenset(JOINERS)
_UNSEEN = frozenset({"\n", SOFT_HYPHEN})
_LINE_MAY_END = frozenset({" ", "]", "-", "/", SOFT_HYPHEN})
_LEVEL = re.compile(r"Level\(\s+(\d+)")


class Glyph(NamedTuple):
    char: str
    run: Run
    width: float  # of a size of 1
    level: int  # odd: read from right to left


_CHAR, _RUN, _WIDTH, _LEVEL_OF, _MANNER = (*map(itemgetter, range(4)), itemgetter(3, 1))


@dataclass(frozen=True, slots=True)
class Plain(Sequence[Glyph]):
    """Glyphs of one run, each read from the left and drawn as it is, which most texts are: kept without one each."""

    text: str
    run: Run
    widths: Sequence[float]

    def __len__(self) -> int:
        return len(self.text)

    @overload
    def __getitem__(self, at: int) -> Glyph: ...
    @overload
    def __getitem__(self, at: slice) -> Plain: ...
    def __getitem__(self, at: int | slice) -> Glyph | Plain:
        if isinstance(at, slice):
            return Plain(self.text[at], self.run, self.widths[at])
        return Glyph(self.text[at], self.run, self.widths[at], 0)


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


def glyphs_of(runs: Iterable[Run]) -> Sequence[Glyph]:
    """Return the letters in reading order. Raises CannotDraw."""
    texts = [(run.text if run.mark else _checked(run.text), run) for run in runs]
    if len(texts) == 1 and not texts[0][1].mark and _stands_as_typed(texts[0][0]):
        [(text, run)] = texts
        return Plain(text, run, list(map(_advances(run.font).__getitem__, text)))
    levels = iter(_levels("".join(text for text, _ in texts)))
    found: list[Glyph] = []
    for text, run in texts:
        widths = repeat(MARK_WIDTH) if run.mark else map(_advances(run.font).__getitem__, text)
        found.extend(map(Glyph._make, zip(text, repeat(run), widths, levels, strict=False)))
    return found


def _stands_as_typed(text: str) -> bool:
    if text.isascii():
        return text.isprintable()
    return _UNSEEN.isdisjoint(text) and _SHAPED.isdisjoint(text) and not _has_right(text)


def joined(stretches: Sequence[Sequence[Glyph]]) -> Sequence[Glyph]:
    """Lines of one text, put together again."""
    plain = [stretch for stretch in stretches if isinstance(stretch, Plain)]
    if plain and len(plain) == len(stretches):
        widths = list(chain.from_iterable(stretch.widths for stretch in plain))
        return Plain("".join(stretch.text for stretch in plain), plain[0].run, widths)
    return [glyph for stretch in stretches for glyph in stretch]


def text_of(glyphs: Sequence[Glyph]) -> str:
    return glyphs.text if isinstance(glyphs, Plain) else "".join(map(_CHAR, glyphs))


def runs_of(glyphs: Sequence[Glyph]) -> Iterable[Run]:
    """The run of each letter, or fewer: each run at least once."""
    return (glyphs.run,) if isinstance(glyphs, Plain) else map(_RUN, glyphs)


def _checked(text: str) -> str:
    check_drawable(text)
    return clean(text)


class _Advances(dict[str, float]):
    """How far each letter moves the pen where a face is asked for, whichever face then draws it."""

    def __init__(self, wanted: str) -> None:
        super().__init__(dict.fromkeys((SOFT_HYPHEN, "\n", *JOINERS), 0.0))
        self.wanted = wanted

    def __missing__(self, char: str) -> float:
        width = self[char] = letters_of(_drawn_with(char, self.wanted))[char]
        return width


@cache
def _advances(wanted: str) -> _Advances:
    return _Advances(wanted)


def _drawn_with(char: str, wanted: str) -> str:
    name = font_for(char, wanted)
    if name is None:
        raise AssertionError(f"{char!r} was checked before")
    return name


def reads_from_right(text: str) -> bool:
    """Say whether a text is Arabic at heart: it begins so, and at least three letters of four are."""
    if not _has_right(text):
        return False
    kinds = [unicodedata.bidirectional(char) for char in text]
    letters = [kind in ("R", "AL") for kind in kinds if kind in ("L", "R", "AL")]
    return bool(letters) and letters[0] and sum(letters) * 4 >= len(letters) * 3


def _has_right(text: str) -> bool:
    return not text.isascii() and not _FROM_RIGHT.isdisjoint(map(unicodedata.bidirectional, set(text)))


def _levels(text: str) -> list[int]:
    if not _has_right(text):
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
    text = text_of(glyphs)
    widths = glyphs.widths if isinstance(glyphs, Plain) else list(map(_WIDTH, glyphs))
    if sum(widths) <= room and "\n" not in text:
        if text:
            yield glyphs
        return
    start = best = 0
    used = 0.0
    for at, (char, width) in enumerate(zip(text, widths, strict=True)):
        if used + width > room and char not in " \n" and at > start:
            cut = best if best > start else at
            yield glyphs[start:cut]
            start, used = cut, sum(widths[cut:at])
        used += width
        if char == "\n":
            yield glyphs[start : at + 1]
            start, used = at + 1, 0.0
        elif char in _LINE_MAY_END and _may_end(glyphs, text, at, room - used):
            best = at + 1
    if start < len(text):
        yield glyphs[start:]


def _may_end(glyphs: Sequence[Glyph], text: str, at: int, left: float) -> bool:
    char = text[at]
    if char in " ]":  # the bracket ends a letter spelled out by its number
        return True
    if char == SOFT_HYPHEN:
        return left >= letters_of(glyphs[at].run.font)["-"]
    if at == 0 or at + 1 == len(text):
        return False
    return text[at - 1].isalnum() and text[at + 1].isalpha()


def set_line(glyphs: Sequence[Glyph]) -> Line:
    """Join and reorder one broken line."""
    if isinstance(glyphs, Plain) and (own := letters_of(glyphs.run.font)).has_all(glyphs.text):
        width = sum(map(own.__getitem__, glyphs.text))
        return Line((Piece(glyphs.text, glyphs.run.font, glyphs.run, width),), width, None)
    text = "".join(map(_CHAR, glyphs))
    if not _SHAPED.isdisjoint(text) or not _UNSEEN.isdisjoint(text) or any(map(_LEVEL_OF, glyphs)):
        return _set_odd_line(glyphs)
    pieces = tuple(piece for _, stretch in groupby(glyphs, key=_MANNER) for piece in _pieces(list(stretch)))
    return Line(pieces, sum(piece.width for piece in pieces), None)


def _set_odd_line(glyphs: Sequence[Glyph]) -> Line:
    shown = [g for g in glyphs if g.char not in _UNSEEN]
    if glyphs and glyphs[-1].char == SOFT_HYPHEN:
        shown.append(glyphs[-1])  # drawn as a hyphen, and read back as the soft one it is
    while len(shown) > 1 and shown[-1].char == " " and shown[-1].level:
        shown.pop()  # a space at the end of a line from the right would stand before its first letter
    stretches = [list(stretch) for _, stretch in groupby(shown, key=_MANNER)]
    pieces = tuple(piece for stretch in _visual(stretches) for piece in _pieces(stretch))
    odd = any(g.level or g.char in JOINERS for g in shown) or len(shown) != len([g for g in glyphs if g.char != "\n"])
    spoken = "".join(g.char for g in glyphs if g.char != "\n" and not g.run.mark) if odd else None
    return Line(pieces, sum(piece.width for piece in pieces), spoken)


def one_line(run: Run, room: float | None = None) -> Line:
    """Set a text on one line, whatever its length; cut it with three dots where it is wider than ``room``."""
    glyphs = glyphs_of([replace(run, text=run.text.replace("\n", " "))])
    if room is not None and sum(g.width for g in glyphs) > room:
        kept, dots = list(glyphs), glyphs_of([replace(run, text="…")])
        while kept and sum(g.width for g in kept) + dots[0].width > room:
            kept.pop()
        glyphs = [*kept, *dots]
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
    text = "".join(map(_CHAR, stretch))
    if not _SHAPED.isdisjoint(text):
        text = "".join(char for char in SHAPER.reshape(text) if char not in JOINERS)
    if stretch[0].level % 2:
        text = text[::-1].translate(_MIRROR)
    own = letters_of(run.font)
    if own.has_all(text):
        yield Piece(text, run.font, run, sum(map(own.__getitem__, text)))
        return
    for name, chars in groupby(text, key=lambda char: _drawn_with(char, run.font)):
        same = "".join(chars)
        yield Piece(same, name, run, sum(map(letters_of(name).__getitem__, same)))
