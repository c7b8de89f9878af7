"""Stored spans worked out by several processes, each with a connection of its own."""

from __future__ import annotations

import multiprocessing
from collections.abc import Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed

import django
from django.db import connections

from training.standing.rebuilding_spans import Rebuilt, hundreds, rebuild, rebuild_some


def rebuild_apart(families: Iterable[int], *, processes: int, keep: bool, round_: int) -> Iterator[Rebuilt]:
    """As `rebuild`, by so many processes; one is this one itself. In the order in which they are done."""
    if processes == 1:
        yield from rebuild(families, keep=keep, round_=round_)
        return
    connections.close_all()
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=context, initializer=django.setup) as pool:
        begun = [pool.submit(_some, keys, keep, round_) for keys in hundreds(families)]
        for one in as_completed(begun):
            yield one.result()


def _some(keys: list[int], keep: bool, round_: int) -> Rebuilt:
    return rebuild_some(keys, keep=keep, round_=round_)
