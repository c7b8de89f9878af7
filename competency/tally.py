"""Needs tried on one list of counted passes (design 4.2)."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from competency.programme import Need


@dataclass(slots=True)
class Attempt:
    """What the needs look at of one assessment. place_in_line: its position among all events of the caregiver.

    full: it counts toward a full sign-off too, not only toward renewals and rechecks.
    """

    place_in_line: int
    id: str
    on: date
    edition: int
    setting: str
    role: str
    mode: str
    place: str
    observer: str
    full: bool = False


def looks_at(need: Need, attempt: Attempt) -> bool:
    """Whether the need's four filters choose this attempt."""
    return (
        (need.setting is None or attempt.setting in need.setting)
        and (need.role is None or attempt.role in need.role)
        and (need.mode is None or attempt.mode in need.mode)
        and (need.place is None or attempt.place in need.place)
    )


def any_looks_at(needs: Iterable[Need], attempt: Attempt) -> bool:
    for need in needs:
        if looks_at(need, attempt):
            return True
    return False


def tally(
    need: Need,
    passes: Sequence[Attempt],
    failures: Sequence[Attempt],
    *,
    after: int,
    restart: bool,
    full: bool = False,
    edition: int = 0,
) -> list[Attempt]:
    """The counted passes this need looks at since its floor.

    after: the floor, a place in line; restart: whether the latest failure this need looks at moves it further;
    full: only what counts toward a full sign-off; edition: only passes on this edition or a later one.
    """
    if restart and failures:
        for failure in reversed(failures):
            if failure.place_in_line <= after:
                break
            if looks_at(need, failure):
                after = failure.place_in_line
                break
    return [
        p
        for p in passes
        if p.place_in_line > after and (p.full or not full) and p.edition >= edition and looks_at(need, p)
    ]


def is_met(need: Need, found: Sequence[Attempt]) -> bool:
    """Whether this tally is enough, in one window where the need asks for one."""
    if len(found) < need.passes:
        return False
    if need.within is None:
        return _is_enough(need, found)
    for first in found:
        last = need.within.after(first.on)
        if _is_enough(need, [p for p in found if first.on <= p.on <= last]):
            return True
    return False


def _is_enough(need: Need, found: Sequence[Attempt]) -> bool:
    return (
        len(found) >= need.passes
        and (need.days == 1 or len({p.on for p in found}) >= need.days)
        and (need.observers == 1 or len({p.observer for p in found}) >= need.observers)
        and (need.places == 1 or len({p.place for p in found}) >= need.places)
    )
