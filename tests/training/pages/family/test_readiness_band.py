"""A family's readiness over the twelve months before the date."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.cast import FIRST_DAY, TODAY
from tests.training.pages.family.conftest import of
from training.pages.family.readiness_band import readiness_band
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def band(story):
    return lambda day: readiness_band(FamilyOn(open_file(story.north.family), day))


def test_before_the_care_plan_there_is_none(band):
    assert band(FIRST_DAY - timedelta(days=1)) is None


def test_it_begins_with_the_care_plan_and_ends_on_the_date(band):
    found = band(TODAY).stretches

    assert (found[0].start, found[-1].through) == (FIRST_DAY, TODAY)


def test_it_reaches_back_twelve_months_to_the_first_of_one(band):
    found = band(date(2028, 5, 14))

    assert found.stretches[0].start == date(2027, 5, 1)
    assert len(found.months) == 13


def test_it_is_said_in_words(band):
    assert band(TODAY).said == "Readiness: not ready from 2 March 2026 through 14 May 2026."


def test_the_last_piece_reaches_the_edge(band):
    assert band(TODAY).pieces[-1].end == "100.00%"


@pytest.mark.parametrize("day", [date.max, date(9999, 12, 1)])
def test_the_calendar_s_end_has_one(band, day):
    assert band(day).stretches[-1].through == day


def test_it_stands_on_the_page_with_its_table(story, read):
    page = read(story.north.educator, of(story.north.family, "family"))

    assert "Readiness over 12 months" in page
    assert "not ready from 2 March 2026 through 14 May 2026" in page
