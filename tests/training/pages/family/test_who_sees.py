"""Who gets which of a family's pages: all members of its organisation read them, nobody else does."""

from __future__ import annotations

import uuid

import pytest

from tests.training.kept import keep, start_body
from tests.training.pages.family.conftest import of

ROLES = ("educator", "supervisor", "administrator", "auditor")


def stay_of(home):
    return keep(home.educator, home.family, "stay", **start_body())


def addresses(home):
    family, mother = home.family, home.mother
    return {
        "family": of(family, "family"),
        "skill": of(family, "skill", caregiver=mother.public_id, skill="suction"),
        "records": of(family, "records"),
        "record": of(family, "record", number=1),
        "stays": of(family, "stays"),
        "stay": of(family, "stay", number=stay_of(home).number),
        "packet": of(family, "packet"),
        "families": "/families/",
    }


PAGES = ("family", "skill", "records", "record", "stays", "stay", "packet", "families")


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("role", ROLES)
def test_every_role_reads(cast, signed_in, page, role):
    assert signed_in(getattr(cast.north, role)).get(addresses(cast.north)[page]).status_code == 200


@pytest.mark.parametrize("page", [p for p in PAGES if p != "families"])
def test_the_other_organisation_finds_nothing(cast, signed_in, page):
    assert signed_in(cast.south.supervisor).get(addresses(cast.north)[page]).status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_somebody_without_a_place_finds_nothing(cast, signed_in, page):
    assert signed_in(cast.stranger).get(addresses(cast.north)[page]).status_code == 404


@pytest.mark.parametrize("page", PAGES)
def test_a_visitor_signs_in_first(cast, client, page):
    answer = client.get(addresses(cast.north)[page])

    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/sign-in/")


@pytest.mark.parametrize("page", PAGES)
def test_no_page_is_kept_by_a_browser(cast, signed_in, page):
    assert signed_in(cast.north.educator).get(addresses(cast.north)[page])["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize("page", PAGES)
def test_a_page_only_reads(cast, signed_in, page):
    assert signed_in(cast.north.educator).post(addresses(cast.north)[page]).status_code == 405


@pytest.mark.parametrize(
    "more",
    [
        {"name": "record", "number": 999},
        {"name": "record", "number": 0},
        {"name": "skill", "caregiver": uuid.uuid4(), "skill": "suction"},
    ],
)
def test_what_is_not_there_is_not_found(cast, signed_in, more):
    assert signed_in(cast.north.educator).get(of(cast.north.family, **more)).status_code == 404


def test_an_unknown_skill_is_not_found(cast, signed_in):
    address = of(cast.north.family, "skill", caregiver=cast.north.mother.public_id, skill="juggling")

    assert signed_in(cast.north.educator).get(address).status_code == 404


def test_a_caregiver_of_another_family_is_not_found(cast, signed_in):
    other = cast.north.families[1].caregivers.first()
    address = of(cast.north.family, "skill", caregiver=other.public_id, skill="suction")

    assert signed_in(cast.north.educator).get(address).status_code == 404


def test_the_list_holds_only_our_own_families(cast, read):
    text = read(cast.north.educator, "/families/")

    assert "Okonjo-Lind" in text
    assert "Abara-Voss" not in text
