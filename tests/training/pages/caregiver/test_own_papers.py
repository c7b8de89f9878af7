"""What caregivers print from their own page."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY, plan, show
from tests.training.issuing.conftest import fetch, number_in  # noqa: F401 - a fixture
from tests.training.pages.caregiver.acts import text
from training.issuing.checking import State, check
from training.issuing.models import Document
from training.log.models import Entry


def own(caregiver, name):
    return reverse(name, args=[caregiver.public_id])


def pdf(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def test_the_sheet_for_the_wall_is_the_one_staff_print(north, mother, fetch):  # noqa: F811
    mine = pdf(mother, own(north.mother, "mine-emergency-sheet"))

    assert mine == fetch(north.educator, reverse("emergency-sheet", args=[north.family.public_id]))
    assert Document.objects.get().kind == "emergency_sheet"


def test_it_is_logged_as_a_read_of_theirs(north, mother):
    pdf(mother, own(north.mother, "mine-emergency-sheet"))

    assert [e.view for e in Entry.objects.filter(kind="read")] == ["mine-emergency-sheet"]


def test_a_new_care_plan_supersedes_it_and_a_demonstration_does_not(north, mother):
    number = number_in(pdf(mother, own(north.mother, "mine-emergency-sheet")))
    show(north, north.mother, "hands", TODAY)
    before = check(number=number, digest="", now=NOW).state
    plan(north, north.family, TODAY, {"tube_id_mm": 6, "cuff": "none", "suction": True})

    assert (before, check(number=number, digest="", now=NOW).state) == (State.CURRENT, State.SUPERSEDED)


@pytest.mark.parametrize("change", [{"handed_over_on": TODAY, "handed_over_to": "Southmere"}])
def test_nothing_is_printed_once_others_care(north, mother, change):
    family = north.family
    type(family).objects.filter(pk=family.pk).update(**change)

    assert mother.get(own(north.mother, "mine-emergency-sheet")).status_code == 302
    assert "To print" not in text(mother, north.mother)


def test_the_page_leads_there(north, mother):
    page = mother.get(own(north.mother, "mine-family")).content.decode()

    assert own(north.mother, "mine-emergency-sheet") in page


def test_their_skills_sheet_is_the_one_staff_print(north, mother, fetch):  # noqa: F811
    show(north, north.mother, "hands", TODAY)
    whole = [north.family.public_id, north.mother.public_id]

    mine = pdf(mother, own(north.mother, "mine-remaining-skills"))
    assert mine == fetch(north.educator, reverse("remaining-skills", args=whole))


def test_the_father_s_demonstration_leaves_hers_current(north, mother):
    number = number_in(pdf(mother, own(north.mother, "mine-remaining-skills")))
    show(north, north.father, "hands", TODAY)
    before = check(number=number, digest="", now=NOW).state
    show(north, north.mother, "hands", TODAY)

    assert (before, check(number=number, digest="", now=NOW).state) == (State.CURRENT, State.SUPERSEDED)
