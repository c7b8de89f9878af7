"""What a document says of a file's history: bands through time, who recorded, what was corrected. Plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True, kw_only=True)
class BandPiece:
    """One standing's stretch. start, end: shares of the picture's width, 0 to 1; ahead: after the document's day."""

    standing: str
    start: float
    end: float
    ahead: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class BandLine:
    """said: the same stretches in words, with their dates."""

    title: str
    said: str
    pieces: tuple[BandPiece, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class BandsBlock:
    """One caregiver's standings through time. ticks: shares of the width, each with its label; now: the day's share."""

    name: str
    first: date
    last: date
    ticks: tuple[tuple[float, str], ...]
    now: float
    lines: tuple[BandLine, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RecorderLine:
    """Somebody who signed records of the file, as each record names them."""

    name: str
    role: str
    records: int
    first: date
    last: date


@dataclass(frozen=True, slots=True, kw_only=True)
class OriginLine:
    """A record that is not simply what was seen and written on the spot. how: what it is instead, in words.

    by: who corrected, typed or decided it; on: when; why: empty where no reason is asked for.
    """

    number: int
    what: str
    how: str
    by: str
    on: date
    why: str = ""
