"""A canary in every text that staff write or that is about somebody else, and every page of a caregiver's read through."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from tests.cast import ALL_ALONE, NOW, TODAY, show, sign_off_suction, write
from tests.training.kept import appointment_body, comment_body, event_body, keep, start_body, stepped_in_body
from tests.training.pages.caregiver.acts import address, text
from training.invitations import deeds as invitations
from training.people.models import Caregiver
from training.records.models import Record
from training.standing import deeds

DAY = {"on": "2026-05-10"}


def fill(home):
    """Every text field of the family's file says CANARY and a number; so do the father's own results and words."""
    mother, father = home.mother, home.father
    mine, his = {"caregiver": mother.case_id}, {"caregiver": father.case_id}
    show(home, mother, "hands", TODAY - timedelta(days=40), note="CANARY-1")
    sign_off_suction(home, mother)
    sign_off_suction(home, father)
    failed = {**ALL_ALONE["suction"], "s01": "prompted"}
    his_shown = show(home, father, "suction", TODAY, results=failed, reteach={"line": "CANARY-2", "on": None})
    write(
        home.supervisor, home.family, "hold", NOW, **mine, **DAY, skill="tube_change", through=None, reason="CANARY-3"
    )
    write(home.supervisor, home.family, "hold", NOW, **his, **DAY, skill=None, through=None, reason="CANARY-4")
    write(
        home.supervisor,
        home.family,
        "withdrawal",
        NOW,
        **mine,
        **DAY,
        skill="hands",
        reason="CANARY-5",
        cover="CANARY-6",
    )
    write(home.supervisor, home.family, "recheck", NOW, **mine, **DAY, skill="suction", reason="CANARY-7 incident")
    excepted = {"from": "2026-05-10", "through": "2026-06-01", "by": home.supervisor.observer_id, "reason": "CANARY-8"}
    deeds.record(family=home.family, kind="exception", body={"missing": "team", **excepted}, by=home.supervisor,
                 intent=uuid.uuid4(), at=NOW)  # fmt: skip
    write(home.educator, home.family, "item", NOW, item="kit", **DAY, note="CANARY-9")
    write(
        home.educator, home.family, "certificate", NOW, **his, **DAY, skill="cpr_card", through=None, note="CANARY-10"
    )
    write(
        home.educator, home.family, "certificate", NOW, **mine, **DAY, skill="cpr_card", through=None, note="CANARY-11"
    )
    his_event = event_body(father, happened="CANARY-12", done="CANARY-13")
    keep(home.educator, home.family, "event", **his_event)
    keep(home.educator, home.family, "event", **event_body(mother, happened="CANARY-14", done="CANARY-15"))
    keep(father, home.family, "comment", **comment_body(father, his_shown, said="CANARY-16"))
    stay = keep(home.educator, home.family, "stay", **start_body(place="CANARY-17"))
    keep(home.educator, home.family, "stay", **stepped_in_body(stay, reason="CANARY-18", by_whom="CANARY-19"))
    keep(home.educator, home.family, "appointment", **appointment_body(father, what="CANARY-20", place="CANARY-21"))
    voided = show(home, mother, "hands", TODAY - timedelta(days=41))
    write(home.supervisor, home.family, "void", NOW, record=str(voided.intent), reason="CANARY-22")
    passed = show(home, mother, "tube_change", TODAY - timedelta(days=1))
    write(home.supervisor, home.family, "override", NOW, **mine, record=str(passed.intent), reason="CANARY-23")
    Caregiver.objects.filter(pk=father.pk).update(full_name="CANARY-24", called="CANARY-25")
    invitations.remove_account(caregiver=father, reason="CANARY-26", by=home.supervisor, now=NOW)


def pages_of(home):
    person = home.mother.public_id
    yield reverse("mine-family", args=[person])
    yield reverse("mine-records", args=[person])
    for record in Record.objects.of_chain(home.family.public_id):
        yield reverse("mine-say", args=[person, record.number])
    for skill in ALL_ALONE:
        yield reverse("mine-sign", args=[person, skill])


def test_no_canary_is_read_on_any_page(north, mother):
    fill(north)
    answers = {url: mother.get(url) for url in pages_of(north)}

    assert {url for url, answer in answers.items() if "CANARY" in answer.content.decode()} == set()
    assert answers[address(north.mother)].status_code == 200
    assert sum(answer.status_code == 200 for answer in answers.values()) > 8


def test_the_canaries_are_there_for_staff(north, signed_in):
    """Else the test above would prove nothing."""
    fill(north)
    staff = signed_in(north.supervisor)
    numbers = Record.objects.of_chain(north.family.public_id).values_list("number", flat=True)
    read = "".join(staff.get(reverse("record", args=[north.family.public_id, n])).content.decode() for n in numbers)
    unread = [n for n in range(1, 24) if f"CANARY-{n}" not in read]

    assert unread == []


def test_even_to_who_agreed_with_each_other(north, mother):
    fill(north)
    keep(north.father, north.family, "agreement", caregiver=north.father.case_id, agreed=True, on=TODAY.isoformat())
    body = mother.get(address(north.mother)).content.decode()

    assert [n for n in range(1, 25) if f"CANARY-{n} " in body or f"CANARY-{n}<" in body] == []
    assert "CANARY-25" in body  # what he is called, as he agreed


def test_the_patient_s_essentials_are_there_in_plain_words(north, mother):
    read = text(mother, north.mother)

    assert "About Ilse The soft balloon on the tube No cuff How wide the tube is 5 mm Clearing the tube yes" in read


@pytest.mark.parametrize("name", ["family", "records", "caregiver-access", "board", "families", "members", "packet"])
def test_no_page_of_staff_s_opens(north, mother, name):
    args = {
        "caregiver-access": [north.family.public_id, north.mother.public_id],
        "board": [],
        "families": [],
        "members": [],
    }
    answer = mother.get(reverse(name, args=args.get(name, [north.family.public_id])))

    assert answer.status_code == 404


def test_another_family_s_caregiver_is_nobody_here(cast, north):
    user = north.mother.user
    other = Client()
    Caregiver.objects.filter(pk=cast.south.mother.pk).update(user=user)
    other.force_login(user)
    third = cast.south.father

    assert other.get(address(third)).status_code == 404
    assert other.post(reverse("mine-pause", args=[third.public_id]), {"intent": str(uuid.uuid4())}).status_code == 404
