"""When Python's garbage collector walks what is in memory, which takes long where there is much."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from importlib import import_module

from django.conf import settings


def settle() -> None:
    """Load what the first request would load, and set all of it aside.

    One full collection took some 80 ms out of a page, and one page in twenty had one (docs/speed.md).
    """
    import_module(settings.ROOT_URLCONF)
    gc.collect()
    gc.freeze()


@contextmanager
def collected_once() -> Iterator[None]:
    """Let the collector wait until the end, for work that makes a great many objects and keeps none of them.

    For commands: it waits in every thread of the process. Entered again inside, it is the outer one's.
    """
    if not gc.isenabled():
        yield
        return
    gc.disable()
    try:
        yield
    finally:
        gc.enable()
        gc.collect()
