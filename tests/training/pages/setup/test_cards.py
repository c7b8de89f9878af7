"""A card belongs to the person: it is written in each of their families in the organisation, with one signature."""

from __future__ import annotations

import uuid

import pytest
from django.urls import reverse

from competency.fields import Problem, RefusedError
from competency.standing import Standing
from tests.cast import TODAY
from tests.factories import UserFactory
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.people.models import Caregiver
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def marit(cast):
    """The same account cares in both families of the hospital, and in one of the agency."""
    user = UserFactory(full_name="Marit Okonjo-Lind")
    second = cast.north.families[1].caregivers.get(relation="mother")
    for caregiver in (cast.north.mother, second, cast.south.mother):
        Caregiver.objects.filter(pk=caregiver.pk).update(user=user)
    return cast.north.mother, second


@pytest.fixture
def educator(cast, signed_in):
    return signed_in(cast.north.educator)


def enter(client, caregiver, *also, **changes):
    fields = {"caregiver": caregiver.case_id, "skill": "cpr_card", "on": "2026-05-01", "through": "2028-05-01",
              "note": "", "also": [c.case_id for c in also], **changes}  # fmt: skip
    return send(client, of(caregiver.family, "certificate-new"), **fields)


def standing(caregiver):
    return FamilyOn(open_file(caregiver.family), TODAY).cell(caregiver, "cpr_card").standing


def test_the_other_family_of_the_house_is_offered_and_no_other(educator, marit):
    form = educator.get(of(marit[0].family, "certificate-new")).context["form"]

    assert form.fields["also"].choices == [(marit[1].case_id, "Marit Quist, Quist family, for Peder")]


def test_without_another_family_nothing_is_offered(cast, educator):
    assert "also" not in educator.get(of(cast.north.family, "certificate-new")).context["form"].fields


def test_it_counts_in_each_family(educator, marit):
    answer = enter(educator, marit[0], marit[1])

    assert [standing(c) for c in marit] == [Standing.SIGNED_OFF, Standing.SIGNED_OFF]
    assert said(answer).startswith("Card entered, here and for Marit Quist, Quist family, for Peder.")


def test_unless_it_is_written_there_it_counts_here_alone(cast, educator, marit):
    enter(educator, marit[0])

    assert [standing(c) for c in (*marit, cast.south.mother)] == [
        Standing.SIGNED_OFF, Standing.NOT_STARTED, Standing.NOT_STARTED,
    ]  # fmt: skip


def test_one_signature_covers_both_records(educator, marit):
    enter(educator, marit[0], marit[1])
    made = [last(c.family) for c in marit]

    assert made[0].data["signed"]["together"] == [str(r.intent) for r in made]
    assert made[1].data["signed"] == made[0].data["signed"]
    assert [r.data["caregiver"] for r in made] == [c.case_id for c in marit]


def test_the_same_post_is_one_card_in_each(educator, marit):
    intent = str(uuid.uuid4())
    enter(educator, marit[0], marit[1], intent=intent)
    before = [count(c.family) for c in marit]
    enter(educator, marit[0], marit[1], intent=intent)

    assert [count(c.family) for c in marit] == before


def test_refused_in_one_is_written_in_none(educator, marit, monkeypatch):
    before = [count(c.family) for c in marit]
    real = deeds.record

    def refuse_there(**about):
        if about["family"] == marit[1].family:
            raise RefusedError([Problem("on", "is refused there")])
        return real(**about)

    monkeypatch.setattr(deeds, "record", refuse_there)
    answer = enter(educator, marit[0], marit[1])

    assert list(errors(answer)) == ["on"]
    assert [count(c.family) for c in marit] == before


@pytest.mark.parametrize("case", ["father", "foreign", "nobody"])
def test_it_is_not_written_for_another_person(cast, educator, marit, case):
    before = [count(c.family) for c in (*marit, cast.south.mother)]
    if case == "father":
        answer = enter(educator, cast.north.father, marit[1])
    else:
        answer = enter(educator, marit[0], also=[cast.south.mother.case_id if case == "foreign" else "x"])

    assert list(errors(answer)) == ["also"]
    assert [count(c.family) for c in (*marit, cast.south.mother)] == before


def test_who_left_the_other_family_gets_no_card_there(educator, marit):
    Caregiver.objects.filter(pk=marit[1].pk).update(through=TODAY.replace(day=1))

    assert "also" not in educator.get(of(marit[0].family, "certificate-new")).context["form"].fields


def test_the_other_house_reads_nothing_of_it(cast, educator, marit, client):
    enter(educator, marit[0], marit[1], note="NUMBER 4711")
    client.force_login(cast.south.educator.user)
    page = client.get(reverse("records", args=[cast.south.family.public_id])).content.decode()

    assert "NUMBER 4711" not in page
    assert standing(cast.south.mother) is Standing.NOT_STARTED
