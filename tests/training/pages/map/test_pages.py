"""The three maps: what they show of each skill, and who sees them."""

from __future__ import annotations

import uuid

import pytest

from tests.cast import NOW, TODAY, sign_off_suction
from tests.factories import UserFactory
from tests.training.pages.family.test_family_page import squeezed
from training.standing import deeds


@pytest.fixture
def mother(cast):
    """The mother with an account of her own."""
    found = cast.north.mother
    found.user = UserFactory(full_name="Marit Okonjo-Lind")
    found.save(update_fields=["user"])
    return found


def address(caregiver):
    return f"/families/{caregiver.family.public_id}/people/{caregiver.public_id}/map/"


def nodes(response):
    return {node.code: node for node in response.context["map"].nodes}


def test_a_closed_gate_says_what_it_waits_for(cast, signed_in):
    found = nodes(signed_in(cast.north.educator).get(address(cast.north.mother)))

    assert (found["tube_change"].standing, found["tube_change"].waits) == ("not_started", ("suction", "hands"))
    assert found["tube_change"].waiting == "closed: waits for Hand hygiene, Suctioning"


def test_a_signed_off_skill_opens_the_gate(cast, signed_in):
    sign_off_suction(cast.north, cast.north.mother)
    found = nodes(signed_in(cast.north.educator).get(address(cast.north.mother)))

    assert (found["suction"].word, found["tube_change"].waits) == ("Signed off", ("hands",))


def test_the_picture_is_of_the_date_asked_for(cast, signed_in):
    sign_off_suction(cast.north, cast.north.mother, TODAY)
    response = signed_in(cast.north.educator).get(address(cast.north.mother) + "?on=2026-05-13")

    assert nodes(response)["suction"].standing == "in_training"


def test_the_list_says_what_the_picture_shows(cast, signed_in):
    text = squeezed(signed_in(cast.north.educator).get(address(cast.north.mother)).content.decode())

    assert "Tube change" in text
    assert "First: Suctioning; Hand hygiene" in text
    assert "Closed: waits for Hand hygiene, Suctioning" in text


def test_a_skill_that_is_not_asked_is_not_drawn(cast, signed_in):
    aunt = write_aunt(cast, sets=[])

    assert nodes(signed_in(cast.north.educator).get(address(aunt))) == {}


def write_aunt(cast, **changes):
    said = {
        "full_name": "Tove Lind", "called": "Tove", "relation": "aunt", "born": None, "is_patient": False,
        "from_day": None, "through": None, "sets": ["full"],
    }  # fmt: skip
    return deeds.write_caregiver(
        family=cast.north.family, by=cast.north.educator, intent=uuid.uuid4(), at=NOW, **said | changes
    )


def test_ones_own_map_is_in_plain_words(mother, signed_in):
    response = signed_in(mother.user).get(f"/mine/{mother.public_id}/map/")

    assert nodes(response)["tube_change"].title == "Changing the tube"
    assert nodes(response)["tube_change"].waiting == "first: Wash your hands, Suctioning the tube"
    assert "not signed off" not in response.content.decode().lower()


def test_ones_own_map_names_nobody_else(mother, cast, signed_in):
    text = signed_in(mother.user).get(f"/mine/{mother.public_id}/map/").content.decode()

    assert "Joram" not in text


@pytest.mark.parametrize(
    ("who", "status"), [("educator", 200), ("auditor", 200), ("stranger", 404), ("elsewhere", 404)]
)
def test_who_sees_a_caregivers_map(cast, signed_in, who, status):
    people = {"educator": cast.north.educator, "auditor": cast.north.auditor}
    person = people.get(who) or (cast.stranger if who == "stranger" else cast.south.supervisor)

    assert signed_in(person).get(address(cast.north.mother)).status_code == status


@pytest.mark.parametrize(("who", "status"), [("mother", 200), ("other", 404), ("staff", 404)])
def test_who_sees_ones_own_map(mother, cast, signed_in, who, status):
    person = {"mother": mother.user, "other": UserFactory(full_name="Somebody"), "staff": cast.north.educator}[who]

    assert signed_in(person).get(f"/mine/{mother.public_id}/map/").status_code == status


def test_a_programmes_map_has_every_skill_and_no_standing(cast, signed_in):
    response = signed_in(cast.north.educator).get(f"/checklists/{cast.north.programme.public_id}/map/")

    assert {"hands", "suction", "tube_change", "emergency"} <= nodes(response).keys()
    assert {node.standing for node in nodes(response).values()} == {""}


def test_another_organisations_programme_is_not_there(cast, signed_in):
    assert signed_in(cast.south.educator).get(f"/checklists/{cast.north.programme.public_id}/map/").status_code == 404
