"""What is planned, across all families: the next tube change and whose turn it is."""

from __future__ import annotations

import pytest

from tests.training.kept import appointment_body, keep, off_body
from tests.training.pages.family.test_family_page import squeezed


@pytest.fixture
def north(cast):
    return cast.north


def plan(home, family, relation, **changes):
    person = family.caregivers.get(relation=relation)
    return keep(home.educator, family, "appointment", **appointment_body(person, **changes))


def page(read, home):
    return squeezed(read(home.educator, "/families/"))


def test_the_soonest_comes_first_whichever_family_it_is_of(north, read):
    later, sooner = north.families
    plan(north, later, "mother", day="2026-05-21")
    plan(north, sooner, "father", day="2026-05-20", at="14:30")

    assert (
        "Next together 20 May, 14:30 Tube change , Joram Quist ’s turn, Quist family. "
        "21 May, 10:00 Tube change , Marit Okonjo-Lind ’s turn, Okonjo-Lind family." in page(read, north)
    )


def test_one_that_was_cancelled_is_gone(north, read):
    first = plan(north, north.family, "mother")
    keep(north.educator, north.family, "appointment", **off_body(first))

    assert "Next together" not in page(read, north)


def test_one_that_was_moved_stands_on_its_new_day(north, read):
    first = plan(north, north.family, "mother")
    plan(north, north.family, "father", part="moved", record=str(first.intent), day="2026-05-23")

    text = page(read, north)
    assert "23 May, 10:00 Tube change , Joram Okonjo-Lind ’s turn" in text
    assert "21 May" not in text


def test_another_organisation_sees_none_of_it(cast, read):
    plan(cast.north, cast.north.family, "mother")

    assert "Next together" not in page(read, cast.south)


def test_more_families_ask_no_more_questions(north, signed_in, django_assert_max_num_queries):
    client = signed_in(north.educator)
    plan(north, north.family, "mother")
    client.get("/families/")  # the words of the programme are kept from here on
    with django_assert_max_num_queries(40) as one:
        client.get("/families/")
    plan(north, north.families[1], "mother")
    with django_assert_max_num_queries(40) as two:
        client.get("/families/")

    assert len(two) == len(one)
