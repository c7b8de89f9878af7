"""Each caregiver's spans as bands through time: plain values, drawn by ``templates/family/_bands.html``.

Places along the time line are texts in per cent, so a picture stretches and its letters do not.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from competency.dates import add_months
from competency.standing import Span, Standing
from training.documents.through_time import Window, window_around
from training.pages.templatetags.register import STANDING_WORDS
from training.people.models import Caregiver
from training.standing.questions import FamilyOn, written

NARROWEST = 640  # px: what a picture is at least as wide as; a letter takes about 6.5 of them
LETTER = 6.5


@dataclass(frozen=True, slots=True, kw_only=True)
class Piece:
    """One part of a band. x, end, width: per cent; ahead: right of the date; label: empty where none has room."""

    standing: str
    ahead: bool
    x: str
    end: str
    width: str
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One span for the table."""

    standing: Standing
    start: date
    through: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    title: str
    said: str
    pieces: tuple[Piece, ...]
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Month:
    x: str
    title: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    caregiver: Caregiver
    months: tuple[Month, ...]
    now: str
    rows: tuple[Row, ...]


def pictures(family: FamilyOn) -> list[Picture]:
    """One picture for each caregiver, with a row for each skill that is asked of them and was ever required."""
    window = window_around(family.day)
    months = tuple(months_of(window))
    return [
        Picture(
            caregiver=caregiver,
            months=months,
            now=per_cent(window.share(family.day)),
            rows=tuple(_rows(family, caregiver, window)),
        )
        for caregiver in family.caregivers
    ]


def per_cent(share: float) -> str:
    return f"{share:.2f}%"


def months_of(window: Window) -> Iterator[Month]:
    day = window.first
    while day <= window.last:
        form = "M Y" if day.month == 1 else "M"
        yield Month(x=per_cent(window.share(day)), title=date_format(day, form))
        if (day.year, day.month) == (window.last.year, window.last.month):
            return
        day = add_months(day, 1)


def _rows(family: FamilyOn, caregiver: Caregiver, window: Window) -> Iterator[Row]:
    for cell in family.cells_of(caregiver):
        spans = list(family.line(caregiver, cell.skill.code))
        shown = [s for s in spans if s.start <= window.last and (s.through is None or s.through >= window.first)]
        if not cell.asked or all(s.value is Standing.NOT_REQUIRED for s in shown):
            continue
        yield Row(
            title=cell.skill.title,
            said=_("%(skill)s, %(name)s: %(spans)s.")
            % {"skill": cell.skill.title, "name": caregiver.called, "spans": said(shown)},
            pieces=tuple(_pieces(shown, family.day, window)),
            stretches=tuple(Stretch(standing=s.value, start=s.start, through=s.through) for s in spans),
        )


def said(spans: Iterable[Span[Standing]]) -> str:
    """Spans as one sentence, for whoever does not see the picture."""
    return "; ".join(_one_said(s) for s in spans)


def _one_said(span: Span[Standing]) -> str:
    word = str(STANDING_WORDS[span.value].staff).lower()
    if span.through is None:
        return _("%(standing)s from %(start)s") % {"standing": word, "start": written(span.start)}
    days = {"standing": word, "start": written(span.start), "through": written(span.through)}
    return _("%(standing)s from %(start)s through %(through)s") % days


def _pieces(spans: list[Span[Standing]], today: date, window: Window) -> Iterator[Piece]:
    """Each span, cut in two at the date, so that what lies ahead can be paler; what leans has one colour."""
    for span in spans:
        x, end = window.share(span.start), 100.0
        if span.through is not None and span.through < window.last:
            end = window.share(span.through) + 100 / window.days
        cut = window.share(today)
        if x < cut < end and span.value is not Standing.LAPSED:
            yield _piece(span, x, cut, ahead=False)
            yield _piece(span, cut, end, ahead=True, goes_on=True)
        else:
            yield _piece(span, x, end, ahead=x >= cut)


def _piece(span: Span[Standing], x: float, end: float, *, ahead: bool, goes_on: bool = False) -> Piece:
    label = _label(span, ahead=ahead, goes_on=goes_on)
    room = (end - x) * NARROWEST / 100
    return Piece(
        standing=span.value.value,
        ahead=ahead,
        x=per_cent(x),
        end=per_cent(end),
        width=per_cent(max(end - x, 0)),
        label=label if len(label) * LETTER + 12 < room else "",
    )


def _label(span: Span[Standing], *, ahead: bool, goes_on: bool) -> str:
    word = str(STANDING_WORDS[span.value].staff).lower()
    if goes_on and span.through is not None and span.value in (Standing.SIGNED_OFF, Standing.AWAITING):
        return _("through %(day)s") % {"day": date_format(span.through, "j M Y")}
    if span.value is Standing.LAPSED and not goes_on:
        day = date_format(span.start, "j M")
        return (_("lapses %(day)s") if ahead else _("lapsed %(day)s")) % {"day": day}
    return "" if goes_on and span.value is not Standing.HELD else word
