"""The same work on many parts, by several processes, each with a connection of its own."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor, as_completed
from typing import Any, TypeVar

import django
from django.db import connections

Made = TypeVar("Made")


def apart(work: Callable[..., Made], parts: Iterable[tuple[Any, ...]], processes: int) -> Iterator[Made]:
    """What work, a function of a module, makes of each part, in the order in which they are done."""
    connections.close_all()
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(processes, mp_context=context, initializer=django.setup) as pool:
        begun = [pool.submit(work, *part) for part in parts]
        for one in as_completed(begun):
            yield one.result()
