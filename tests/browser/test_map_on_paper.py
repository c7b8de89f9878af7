"""The map of the largest sample and of one of its caregivers: each comes out as one A4 page, with letters one can read."""

from __future__ import annotations

import dataclasses
from datetime import date
from pathlib import Path

import pytest

from tests.browser.looking import printed
from tests.cast import at, make_family
from training.curriculum.programme_file import read_file
from training.standing import deeds

LARGEST = Path(__file__).parents[2] / "fixtures/programmes/child-ventilator.yaml"
LEAST_POINTS = 6.0
A4_LYING = (842, 595)  # points


@pytest.fixture
def followed(live_cast):
    """A home whose one family follows the largest sample; what its care plan does not state counts as asked."""
    file = read_file(LARGEST.read_text(encoding="utf-8"))
    made = deeds.publish_programme(organisation=live_cast.north.organisation, file=file, at=at(date(2024, 12, 1)))
    home = dataclasses.replace(live_cast.north, programme=made, families=[])
    home.families.append(make_family(home, "Brevik-Aune", "Sunniva"))
    return home


def sizes_of_letters(paper):
    """The height in points of every piece of text on a sheet, and the text."""
    found = []

    def see(text, ours, theirs, _font, size):
        if text.strip():
            scale = abs(theirs[3] or theirs[1]) * abs(ours[3] or ours[1])
            found.append((round(size * scale, 2), text.strip()))

    paper.extract_text(visitor_text=see)
    return found


def looked_at(document):
    (sheet,) = document.pages
    letters = sizes_of_letters(sheet)
    small = [(size, text) for size, text in letters if size < LEAST_POINTS]
    size = tuple(round(float(n)) for n in (sheet.mediabox.width, sheet.mediabox.height))
    return size, small, " ".join(text for _size, text in letters)


def test_the_largest_programmes_map_is_one_page(followed, page, sign_in):
    sign_in(followed.educator)
    page.goto(f"/checklists/{followed.programme.public_id}/map/")
    assert page.locator("svg[role=img] .r-node-body").count() == 40

    size, small, said = looked_at(printed(page))

    assert size == A4_LYING
    assert small == []
    assert "Suctioning" in said
    assert "A sample to adapt" in said or "sample" in said


def test_one_caregivers_map_is_one_page(followed, page, sign_in):
    family = followed.family
    mother = family.caregivers.get(called="Marit")
    sign_in(followed.educator)
    page.goto(f"/families/{family.public_id}/people/{mother.public_id}/map/")
    assert page.locator("svg[role=img] .r-node-body").count() >= 30

    size, small, said = looked_at(printed(page))

    assert size == A4_LYING
    assert small == []
    assert "Not started" in said


def test_a_caregivers_own_map_is_one_page(followed, page, sign_in, account):
    mother = followed.family.caregivers.get(called="Marit")
    sign_in(account(mother))
    page.goto(f"/mine/{mother.public_id}/map/")
    assert page.locator("svg[role=img] .r-node-body").count() >= 30

    size, small, said = looked_at(printed(page))

    assert size == A4_LYING
    assert small == []
    assert "not started" in said.lower()
    assert "sample" in said
