"""A caregiver's own yes: asked for when it is awaited, signed by themself, or left for another day."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.contrib.messages import get_messages
from django.urls import reverse

from competency.standing import Standing
from tests.cast import NOW, TODAY, show
from tests.factories import PASSWORD
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn, signatures_missing


@pytest.fixture(autouse=True)
def _shown(north):
    show(north, north.mother, "emergency", TODAY - timedelta(days=1))


def address(home, skill="emergency"):
    return reverse("mine-sign", args=[home.mother.public_id, skill])


def answer_yes(client, home, **changes):
    filled = {"intent": str(uuid.uuid4()), "password": PASSWORD, **changes}
    return client.post(address(home), {k: v for k, v in filled.items() if v is not None})


def written(home):
    return Record.objects.of_chain(home.family.public_id).filter(kind="signature")


def said(response):
    return " ".join(str(m) for m in get_messages(response.wsgi_request))


def test_the_own_page_asks(north, mother):
    page = mother.get(reverse("mine-family", args=[north.mother.public_id]))

    assert "Only your own yes is missing: do you feel you could do this alone?" in page.content.decode()
    assert address(north) in page.content.decode()


def test_what_waits_for_a_yes_stands_first(north, mother):
    page = mother.get(reverse("mine-family", args=[north.mother.public_id])).context["page"]

    assert page.not_alone[0].cell.skill.code == "emergency"


def test_the_question_is_asked_in_their_words(north, mother):
    text = mother.get(address(north)).content.decode()

    assert "Acting in an emergency" in text
    assert "Do you feel you could do this alone?" in text


def test_a_yes_is_signed_by_the_caregiver(north, mother):
    answer_yes(mother, north)
    body = written(north).get().data

    assert (body["by"], body["skill"], body["on"]) == ("caregiver", "emergency", "2026-05-14")
    assert (body["signed"]["id"], body["signed"]["meaning"]) == (
        north.mother.case_id,
        "I feel able to do this alone.",
    )


def test_a_yes_leads_back_to_one_s_own_page(north, mother):
    answer = answer_yes(mother, north)

    assert answer.url == reverse("mine-family", args=[north.mother.public_id])
    assert said(answer) == "Your yes is written down."


def test_both_yeses_make_it_ready(north, mother):
    answer_yes(mother, north)
    body = {"caregiver": north.mother.case_id, "skill": "emergency", "on": "2026-05-14", "by": "educator"}
    said_yes = {"kind": "signature", "body": body, "by": north.educator}
    deeds.record(family=north.family, intent=uuid.uuid4(), at=NOW, **said_yes)

    assert FamilyOn(open_file(north.family), TODAY).cell(north.mother, "emergency").standing is Standing.SIGNED_OFF


def test_the_educator_s_yes_is_still_missing(north, mother):
    answer_yes(mother, north)
    picture = FamilyOn(open_file(north.family), TODAY)

    assert signatures_missing(picture, north.mother, "emergency") == ("educator",)


@pytest.mark.parametrize("password", ["wrong", "", None])
def test_without_the_password_nothing_is_signed(north, mother, password):
    answer = answer_yes(mother, north, password=password)

    assert (list(answer.context["form"].errors), written(north).count()) == (["password"], 0)


def test_not_yet_writes_nothing(north, mother):
    answer = answer_yes(mother, north, password="", not_yet="yes")

    assert (answer.status_code, written(north).count()) == (302, 0)
    assert said(answer) == "That is fine. Nothing changes. Tell your nurse what you would like to do once more."


def test_after_not_yet_the_question_stays(north, mother):
    answer_yes(mother, north, not_yet="yes")

    assert mother.get(address(north)).status_code == 200


def test_the_same_yes_twice_is_one_record(north, mother):
    intent = str(uuid.uuid4())
    answers = [answer_yes(mother, north, intent=intent) for _ in range(2)]

    assert ([a.status_code for a in answers], written(north).count()) == ([302, 302], 1)


def test_after_a_yes_nothing_is_asked(north, mother):
    answer_yes(mother, north)

    assert mother.get(address(north)).status_code == 404


@pytest.mark.parametrize("skill", ["suction", "nothing"])
def test_nothing_else_is_asked(north, mother, skill):
    assert mother.get(address(north, skill)).status_code == 404


def test_staff_cannot_say_it_for_them(north, signed_in):
    answer = answer_yes(signed_in(north.educator), north)

    assert (answer.status_code, written(north).count()) == (404, 0)
