"""Each caregiver has agreed sets: what is in none of them reads "not asked of you" to them, and "not asked" to staff."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from tests.cast import NOW
from tests.training.pages.caregiver.acts import page, skills, text, text_of
from training.standing import deeds


@pytest.fixture
def daytime(north):
    """The mother agreed to the daytime set alone."""
    one = north.mother
    deeds.write_caregiver(
        family=north.family, full_name=one.full_name, called=one.called, relation=one.relation, born=one.born,
        is_patient=False, from_day=None, through=None, sets=["daytime"], by=north.educator, intent=uuid.uuid4(),
        at=NOW, caregiver=one,
    )  # fmt: skip
    return north


def test_with_the_full_set_nothing_is_outside(north, mother):
    assert page(mother, north.mother).outside == []


def test_what_is_in_no_agreed_set_is_outside(daytime, mother):
    found = page(mother, daytime.mother)

    assert "tube_change" in [c.skill.code for c in found.outside]
    assert not {c.skill.code for c in found.outside} & set(skills(found.posts))


def test_it_reads_not_asked_of_you(daytime, mother):
    said = text(mother, daytime.mother).split("Not asked of you", 1)[1]

    assert "You agreed to learn: Daytime care." in said
    assert "Changing the tube not asked of you" in said


def test_staff_read_not_asked(daytime):
    client = Client()
    client.force_login(daytime.educator.user)
    said = text_of(client.get(reverse("family", args=[daytime.family.public_id])))

    assert f"Tube change, {daytime.mother.called}: not asked" in said
