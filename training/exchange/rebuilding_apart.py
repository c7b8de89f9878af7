"""Stored spans worked out by several processes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from training.exchange.apart import apart
from training.standing.rebuilding_spans import Rebuilt, hundreds, rebuild, rebuild_some


def rebuild_apart(families: Iterable[int], *, processes: int, keep: bool, round_: int) -> Iterator[Rebuilt]:
    """As `rebuild`, by so many processes; one is this one itself. In the order in which they are done."""
    if processes == 1:
        yield from rebuild(families, keep=keep, round_=round_)
    else:
        yield from apart(_some, ((keys, keep, round_) for keys in hundreds(families)), processes)


def _some(keys: list[int], keep: bool, round_: int) -> Rebuilt:
    return rebuild_some(keys, keep=keep, round_=round_)
