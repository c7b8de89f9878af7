"""What a caregiver may check themselves: one touch, their own word, shown as theirs, and never counted."""

from __future__ import annotations

import uuid

import pytest
from django.test import Client
from django.urls import reverse

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, write
from tests.training.pages.caregiver.acts import text, text_of
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.kit import items_in_force
from training.standing.questions import FamilyOn


def check(client, caregiver, item="kit", intent=None):
    fields = {"intent": intent or str(uuid.uuid4()), "item": item}
    return client.post(reverse("mine-kit", args=[caregiver.public_id]), fields)


def checks(home):
    return list(Record.objects.of_chain(home.family.public_id).filter(kind="kit_check"))


def kit_of(home):
    return next(i for i in FamilyOn(open_file(home.family), TODAY).items if i.code == "kit")


def staff_page(home):
    client = Client()
    client.force_login(home.educator.user)
    return text_of(client.get(reverse("family", args=[home.family.public_id])))


def test_the_kit_is_offered_with_its_size(north, mother):
    said = text(mother, north.mother)

    assert "Kit you may check" in said
    assert "You have not checked it yet." in said
    assert "5 mm" in said.split("Kit you may check")[1][:200]


def test_what_they_may_not_check_is_not_offered(north, mother):
    assert "Papers" not in text(mother, north.mother)


def test_one_touch_writes_it_in_their_name(north, mother):
    check(mother, north.mother)
    body = checks(north)[0].data

    assert (body["signed"]["name"], body["signed"]["role"]) == (north.mother.full_name, "mother")
    assert "You checked it on 14 May 2026." in text(mother, north.mother)


def test_the_same_touch_twice_is_one(north, mother):
    intent = str(uuid.uuid4())
    check(mother, north.mother, intent=intent)
    check(mother, north.mother, intent=intent)

    assert len(checks(north)) == 1


def test_it_never_counts(north, mother):
    check(mother, north.mother)

    assert not kit_of(north).is_done


def test_staff_read_whose_it_is_and_that_it_does_not_count(north, mother):
    check(mother, north.mother)
    said = staff_page(north)

    assert f"{north.mother.full_name} , mother, 14 May 2026" in said or f"{north.mother.full_name} , mother," in said
    assert "Their own word; it does not count as a check by staff." in said


def test_a_members_check_counts_and_says_who_and_until_when(north):
    write(north.educator, north.family, "item", NOW, item="kit", on=TODAY.isoformat(), note="")

    assert kit_of(north).is_done
    assert "Holds through 13 June 2026." in staff_page(north)
    assert north.educator.signed_name in staff_page(north)


@pytest.mark.parametrize("item", ["papers", "boat", ""])
def test_nothing_else_can_be_checked(north, mother, item):
    answer = check(mother, north.mother, item)

    assert answer.status_code == 302
    assert checks(north) == []


def test_nobody_checks_for_somebody_else(north, mother):
    assert check(mother, north.father).status_code == 404
    for who in (north.educator, north.father):
        body = {"caregiver": north.mother.case_id, "item": "kit", "on": TODAY.isoformat()}
        with pytest.raises(RefusedError, match="is not who signs it"):
            deeds.record(family=north.family, kind="kit_check", body=body, by=who, intent=uuid.uuid4(), at=NOW)


def test_the_father_s_check_is_none_of_the_mother_s_page(north, mother):
    father = Client()
    father.force_login(north.father.user)
    check(father, north.father)

    assert "You have not checked it yet." in text(mother, north.mother)


def test_before_the_rules_begin_there_is_nothing(north):
    assert items_in_force(north.programme, TODAY.replace(year=2000)) == {}
