"""A family's readiness over the twelve months before the date, as one band: what its own history says of each day."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from competency.dates import add_months
from competency.readiness import Verdict
from competency.standing import Span, Standing
from training.pages.family.bands import LETTER, NARROWEST, Month, Piece, Window, months_of, per_cent
from training.pages.templatetags.register import VERDICT_WORDS
from training.standing.questions import FamilyOn, written

BACK = 12  # months
SHAPES = {  # each verdict is drawn with the shape of a standing of the same weight
    Verdict.READY: Standing.SIGNED_OFF,
    Verdict.READY_BY_EXCEPTION: Standing.HELD,
    Verdict.NOT_READY: Standing.LAPSED,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One span for the table; through: the date at most."""

    verdict: Verdict
    start: date
    through: date


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadinessBand:
    """said: the picture as a sentence."""

    months: tuple[Month, ...]
    pieces: tuple[Piece, ...]
    stretches: tuple[Stretch, ...]
    said: str


def readiness_band(family: FamilyOn) -> ReadinessBand | None:
    """None where there was no verdict in those months."""
    first = add_months(family.day.replace(day=1), -BACK) if family.day.year > 1 else date.min
    window = Window(first, family.day)
    spans = [s for s in family.history.readiness.line if s.start <= window.last]
    spans = [s for s in spans if s.through is None or s.through >= window.first]
    if not spans:
        return None
    stretches = tuple(_stretch(span, window) for span in spans)
    return ReadinessBand(
        months=tuple(months_of(window)),
        pieces=tuple(_pieces(stretches, window)),
        stretches=stretches,
        said=_("Readiness: %(spans)s.") % {"spans": "; ".join(_said(s) for s in stretches)},
    )


def _stretch(span: Span[Verdict], window: Window) -> Stretch:
    through = window.last if span.through is None else min(span.through, window.last)
    return Stretch(verdict=span.value, start=max(span.start, window.first), through=through)


def _said(stretch: Stretch) -> str:
    days = {
        "verdict": str(VERDICT_WORDS[stretch.verdict.value]).lower(),
        "start": written(stretch.start),
        "through": written(stretch.through),
    }
    return _("%(verdict)s from %(start)s through %(through)s") % days


def _pieces(stretches: tuple[Stretch, ...], window: Window) -> Iterator[Piece]:
    for stretch in stretches:
        x, end = window.share(stretch.start), window.share(stretch.through) + 100 / window.days
        label = str(VERDICT_WORDS[stretch.verdict.value])
        room = (end - x) * NARROWEST / 100
        yield Piece(
            standing=SHAPES[stretch.verdict].value,
            ahead=False,
            x=per_cent(x),
            end=per_cent(end),
            width=per_cent(max(end - x, 0)),
            label=label if len(label) * LETTER + 12 < room else "",
        )
