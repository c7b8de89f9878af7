"""What one page asks for again and again: a day in words, a family's address. Worked out once, and kept."""

from __future__ import annotations

import uuid
from datetime import date
from functools import lru_cache

from django.urls import get_script_prefix, reverse
from django.utils.formats import date_format
from django.utils.translation import get_language

MOST = 4096  # days and families kept by a process; what was asked for longest ago goes first


def day_written(day: date, form: str) -> str:
    """A day as `form` writes it, in the language in use. form: a format's name, or one such as "j M"."""
    return _day_written(day, form, get_language())


@lru_cache(MOST)
def _day_written(day: date, form: str, language: str | None) -> str:
    return date_format(day, form)


def address_of_family(public_id: uuid.UUID) -> str:
    """The address of a family's page, under the prefix that the site is served at."""
    return _address_of_family(public_id, get_script_prefix())


@lru_cache(MOST)
def _address_of_family(public_id: uuid.UUID, prefix: str) -> str:
    return reverse("family", args=[public_id])
