"""Lapses ahead by week: plain values, drawn by ``templates/board/_weeks.html``. Places are texts in per cent."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from training.pages.board.overview import Lapse

WEEKS = 13
ROOM = 52  # px: what a week has on the narrowest picture
APART = 10  # px between two posts, where there is room


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """One lapse. x: px from the middle of its week. sole: the family is not ready from that day on."""

    x: str
    sole: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    first: date
    middle: str
    edge: str
    is_now: bool
    posts: tuple[Post, ...]
    lapses: tuple[Lapse, ...]


def weeks(lapses: Iterable[Lapse], day: date) -> list[Week]:
    """Thirteen weeks from the Monday on or before the day; as many as the calendar still has."""
    monday = day - timedelta(days=day.weekday()) if day.toordinal() > day.weekday() else day
    found = []
    for place in range(WEEKS):
        if (date.max - monday).days < 7 * place + 6:
            break
        first = monday + timedelta(days=7 * place)
        inside = [lapse for lapse in lapses if first <= lapse.day <= first + timedelta(days=6)]
        found.append(_week(first, place, sorted(inside, key=lambda x: (not x.takes_down, x.day))))
    return found


def _week(first: date, place: int, lapses: list[Lapse]) -> Week:
    apart = min(APART, ROOM / len(lapses)) if lapses else APART
    left = -apart * (len(lapses) - 1) / 2
    return Week(
        first=first,
        middle=f"{100 * (place + 0.5) / WEEKS:.2f}%",
        edge=f"{100 * place / WEEKS:.2f}%",
        is_now=place == 0,
        posts=tuple(Post(x=f"{left + i * apart:.1f}", sole=lapse.takes_down) for i, lapse in enumerate(lapses)),
        lapses=tuple(lapses),
    )
