"""What a started site holds for good is not walked again and again by Python's garbage collector."""

from __future__ import annotations

import gc
from importlib import import_module

from django.conf import settings


def settle() -> None:
    """Load what the first request would load, and set all of it aside.

    One full collection took some 80 ms out of a page, and one page in twenty had one (docs/speed.md).
    """
    import_module(settings.ROOT_URLCONF)
    gc.collect()
    gc.freeze()
