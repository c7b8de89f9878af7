"""Lapses ahead by week: plain values, drawn by ``templates/board/_weeks.html``. Places are texts in per cent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from training.pages.board.lapses import Lapse

WEEKS = 13
ROOM = 52  # px: what a week has on the narrowest picture
APART = 10  # px between two posts, where there is room
MOST = 26  # posts that can be told apart in a week; its number says how many there are


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """One lapse. x: px from the middle of its week. sole: the family is not ready from that day on."""

    x: str
    sole: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Week:
    """number, sole: how many lapses, and how many of them on a day a family stops being ready. lapses: those told."""

    first: date
    middle: str
    edge: str
    is_now: bool
    number: int
    sole: int
    posts: tuple[Post, ...]
    lapses: tuple[Lapse, ...]

    @property
    def sole_posts(self) -> str:
        """The tall, full ones as one path, from the middle of the week."""
        return "".join(f"M{float(post.x) - 3.5:.1f} 30h7v62h-7z" for post in self.posts if post.sole)

    @property
    def other_posts(self) -> str:
        """The low, hollow ones alike."""
        return "".join(f"M{float(post.x) - 2.75:.2f} 92V62.75h5.5V92" for post in self.posts if not post.sole)

    @property
    def more(self) -> int:
        """How many are not told one by one."""
        return max(self.number - len(self.lapses), 0)


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday()) if day.toordinal() > day.weekday() else day


def last_day(monday: date) -> date:
    """The last day of the picture."""
    return monday + min(timedelta(days=7 * WEEKS - 1), date.max - monday)


def weeks(lapses: Iterable[Lapse], day: date, counts: Mapping[tuple[date, bool], int] | None = None) -> list[Week]:
    """Thirteen weeks from the Monday on or before the day; as many as the calendar still has.

    counts: how many lapse on each day, and whether a family falls then; without it the lapses given are all there are.
    """
    told = list(lapses)
    if counts is None:
        counts = Counter((lapse.day, lapse.takes_down) for lapse in told)
    monday = monday_of(day)
    found = []
    for place in range(WEEKS):
        if (date.max - monday).days < 7 * place + 6:
            break
        first = monday + timedelta(days=7 * place)
        last = first + timedelta(days=6)
        inside = sorted((x for x in told if first <= x.day <= last), key=lambda x: (not x.takes_down, x.day))
        within = {key: number for key, number in counts.items() if first <= key[0] <= last}
        sole = sum(number for (_, takes_down), number in within.items() if takes_down)
        found.append(_week(first, place, inside, sole, sum(within.values()) - sole))
    return found


def _week(first: date, place: int, lapses: list[Lapse], sole: int, other: int) -> Week:
    drawn = min(sole + other, MOST)
    apart = min(APART, ROOM / drawn) if drawn else APART
    left = -apart * (drawn - 1) / 2
    return Week(
        first=first,
        middle=f"{100 * (place + 0.5) / WEEKS:.2f}%",
        edge=f"{100 * place / WEEKS:.2f}%",
        is_now=place == 0,
        number=sole + other,
        sole=sole,
        posts=tuple(Post(x=f"{left + i * apart:.1f}", sole=i < sole) for i in range(drawn)),
        lapses=tuple(lapses),
    )
