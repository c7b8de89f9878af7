"""What is kept between pages is kept by everything it depends on."""

from __future__ import annotations

import uuid
from datetime import date

from django.urls import set_script_prefix
from django.utils import translation

from training.pages.often import address_of_family, day_written

DAY, FAMILY = date(2026, 5, 14), uuid.UUID(int=1)


def test_a_day_is_in_the_language_in_use():
    for language, said in (("en", "14 May 2026"), ("nb", "14. mai 2026"), ("en", "14 May 2026")):
        with translation.override(language):
            assert day_written(DAY, "DATE_FORMAT") == said


def test_an_address_is_under_the_prefix_in_use():
    plain = address_of_family(FAMILY)
    set_script_prefix("/register/")
    try:
        assert address_of_family(FAMILY) == "/register" + plain
    finally:
        set_script_prefix("/")
    assert address_of_family(FAMILY) == plain == f"/families/{FAMILY}/"
