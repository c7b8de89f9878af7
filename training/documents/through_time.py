"""A family's whole history as bands, from its first standing to half a year ahead."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from competency.dates import add_months, month_end
from competency.standing import Span, Standing
from training.documents.history_values import BandLine, BandPiece, BandsBlock
from training.people.models import Caregiver
from training.standing.questions import FamilyOn

BACK, AHEAD = 6, 6  # months
MOST_TICKS = 14

Word = Callable[[Standing, bool], object]


@dataclass(frozen=True, slots=True)
class Window:
    """The days a picture shows, whole months."""

    first: date
    last: date

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    def share(self, day: date) -> float:
        """Where the morning of a day lies, in per cent, kept inside the picture."""
        inside = min(max((day - self.first).days, 0), self.days)
        return 100 * inside / self.days


def window_around(day: date) -> Window:
    """Six months back and six ahead, as far as the calendar goes."""
    first = add_months(day.replace(day=1), -BACK) if day.year > 1 else date.min
    return Window(first, month_end(add_months(day.replace(day=1), AHEAD)))


def bands_of(picture: FamilyOn, word: Word, people: Iterable[Caregiver] | None = None) -> tuple[BandsBlock, ...]:
    """One block for each of these caregivers, or of all: a line for each skill asked of them and ever required."""
    found = [(c, _asked(picture, c)) for c in (picture.caregivers if people is None else people)]
    starts = [spans[0].start for _who, lines in found for _title, spans in lines]
    around = window_around(picture.day)
    window = Window(min([picture.day, *starts]).replace(day=1), around.last)
    ticks = tuple(_ticks(window))
    return tuple(
        BandsBlock(
            name=caregiver.full_name,
            first=window.first,
            last=window.last,
            ticks=ticks,
            now=window.share(picture.day) / 100,
            lines=tuple(_line(title, spans, picture.day, window, word) for title, spans in lines),
        )
        for caregiver, lines in found
        if lines
    )


def _asked(picture: FamilyOn, caregiver: Caregiver) -> list[tuple[str, list[Span[Standing]]]]:
    lines = []
    for cell in picture.cells_of(caregiver):
        spans = list(picture.line(caregiver, cell.skill.code)) if cell.asked else []
        if any(span.value is not Standing.NOT_REQUIRED for span in spans):
            lines.append((cell.skill.title, spans))
    return lines


def _line(title: str, spans: list[Span[Standing]], day: date, window: Window, word: Word) -> BandLine:
    return BandLine(title=title, said=told(spans, word), pieces=tuple(_pieces(spans, day, window)))


def told(spans: Iterable[Span[Standing]], word: Word) -> str:
    """Spans as one sentence, for whoever does not see the picture."""
    said = "; ".join(_one(span, str(word(span.value, False)).lower()) for span in spans)
    return f"{said[:1].upper()}{said[1:]}."


def _one(span: Span[Standing], word: str) -> str:
    if span.through is None:
        return _("%(standing)s from %(start)s") % {"standing": word, "start": _short(span.start)}
    days = {"standing": word, "start": _short(span.start), "through": _short(span.through)}
    return _("%(standing)s from %(start)s through %(through)s") % days


def _short(day: date) -> str:
    return date_format(day, "j M Y")


def _pieces(spans: Iterable[Span[Standing]], today: date, window: Window) -> Iterator[BandPiece]:
    """Each span, cut in two after the day, so that what lies ahead can be paler."""
    cut = window.share(today) / 100
    for span in spans:
        if span.start > window.last:
            return
        start, end = window.share(span.start) / 100, 1.0
        if span.through is not None and span.through < window.last:
            end = window.share(span.through) / 100 + 1 / window.days
        ends = [(start, cut, False), (cut, end, True)] if start < cut < end else [(start, end, start >= cut)]
        for left, right, ahead in ends:
            yield BandPiece(standing=span.value.value, start=left, end=right, ahead=ahead)


def _ticks(window: Window) -> Iterator[tuple[float, str]]:
    """The first of each month, or of fewer where they would not fit side by side."""
    months = (window.last.year - window.first.year) * 12 + window.last.month - window.first.month + 1
    step = next((n for n in (1, 2, 3, 6, 12) if months <= n * MOST_TICKS), 12 * (months // (12 * MOST_TICKS) + 1))
    form = "M" if step == 1 else "M Y" if step < 12 else "Y"
    for n in range(0, months, step):
        day = add_months(window.first, n)
        yield window.share(day) / 100, date_format(day, "M Y" if form == "M" and day.month == 1 else form)
