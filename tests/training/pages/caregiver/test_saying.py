"""A caregiver reads what is written about them and says something about it; nobody says it in their place."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta

import pytest
from django.urls import reverse

from tests.cast import NOW, TODAY, show, write
from tests.factories import PASSWORD
from tests.training.kept import appointment_body, comment_body, event_body, keep, off_body
from tests.training.pages.caregiver.acts import text, text_of
from training.records.models import Record


@pytest.fixture
def shown(north):
    return show(north, north.mother, "hands", TODAY - timedelta(days=1))


def own(home):
    return reverse("mine-records", args=[home.mother.public_id])


def address(home, record):
    return reverse("mine-say", args=[home.mother.public_id, record.number])


def say(client, home, record, **changes):
    filled = {"intent": str(uuid.uuid4()), "password": PASSWORD, "said": "I was tired.", **changes}
    return client.post(address(home, record), filled)


def comments(home):
    return Record.objects.of_chain(home.family.public_id).filter(kind="comment")


def read(client, home):
    return text_of(client.get(own(home)))


def test_the_own_page_leads_to_what_is_written(north, mother):
    assert own(north) in mother.get(reverse("mine-family", args=[north.mother.public_id])).content.decode()


def test_what_is_written_is_read_in_their_words(north, mother, shown):
    assert "13 May 2026: Shown: Wash your hands" in read(mother, north)


def test_each_appointment_is_told_by_its_day(north, mother):
    for day in ("2026-05-21", "2026-05-28"):
        keep(north.educator, north.family, "appointment", **appointment_body(north.mother, day=day))

    assert "Planned together for 21 May 2026" in read(mother, north)
    assert "Planned together for 28 May 2026" in read(mother, north)


def test_words_are_signed_by_the_caregiver(north, mother, shown):
    answer = say(mother, north, shown)
    body = comments(north).get().data

    assert answer.url == own(north)
    assert (body["record"], body["said"], body["on"]) == (str(shown.intent), "I was tired.", "2026-05-14")
    assert (body["signed"]["id"], body["signed"]["meaning"]) == (north.mother.case_id, "These are my own words.")


def test_they_read_their_words_back(north, mother, shown):
    say(mother, north, shown)

    assert "You said on 14 May 2026: “I was tired.”" in read(mother, north)


@pytest.mark.parametrize(("changes", "field"), [({"password": "wrong"}, "password"), ({"said": ""}, "said")])
def test_without_password_or_words_nothing_is_signed(north, mother, shown, changes, field):
    answer = say(mother, north, shown, **changes)

    assert (list(answer.context["form"].errors), comments(north).count()) == ([field], 0)


def test_the_same_post_twice_is_one_record(north, mother, shown):
    intent = str(uuid.uuid4())
    answers = [say(mother, north, shown, intent=intent) for _ in range(2)]

    assert ([a.status_code for a in answers], comments(north).count()) == ([302, 302], 1)


@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor"])
def test_no_member_says_it_for_them(north, signed_in, shown, role):
    answer = say(signed_in(getattr(north, role)), north, shown)

    assert (answer.status_code, comments(north).count()) == (404, 0)


def test_nobody_else_of_the_family_says_it_for_them(north, signed_in, shown):
    assert say(signed_in(north.father.user), north, shown).status_code == 404


def test_another_s_record_is_not_found(north, mother):
    other = show(north, north.father, "hands", TODAY)

    assert (mother.get(address(north, other)).status_code, say(mother, north, other).status_code) == (404, 404)


def test_another_s_records_and_words_are_not_read(north, mother, shown):
    other = show(north, north.father, "suction", TODAY)
    keep(north.father, north.family, "comment", **comment_body(north.father, other, said="SECRET"))

    assert ("Suction" in read(mother, north), "SECRET" in read(mother, north)) == (False, False)


def test_staff_read_the_words_with_the_record(north, mother, signed_in, shown):
    say(mother, north, shown)
    page = signed_in(north.auditor).get(reverse("record", args=[north.family.public_id, shown.number]))
    found = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))

    assert f"{north.mother.full_name}, mother: own words, 14 May 2026 I was tired." in found


def test_staff_see_in_the_list_whose_words_they_are(north, mother, signed_in, shown):
    say(mother, north, shown)
    number = comments(north).get().number
    page = signed_in(north.auditor).get(reverse("records", args=[north.family.public_id]))
    found = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", page.content.decode()))

    assert f"A caregiver’s own words Record {shown.number}: Demonstration, Hand hygiene" in found
    assert f"The caregiver’s own words on this: record {number}." in found


def test_a_voided_comment_is_shown_as_voided_and_no_longer_beside_the_record(north, mother, signed_in, shown):
    say(mother, north, shown)
    made = comments(north).get()
    write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="At their wish")
    client = signed_in(north.auditor)
    page = client.get(reverse("record", args=[north.family.public_id, shown.number])).content.decode()

    assert "I was tired." not in page
    assert "VOIDED" in client.get(reverse("record", args=[north.family.public_id, made.number])).content.decode()


def test_what_was_voided_says_so(north, mother, shown):
    write(north.supervisor, north.family, "void", NOW, record=str(shown.intent), reason="SECRET")

    assert "This was taken back and counts for nothing." in read(mother, north)
    assert "SECRET" not in read(mother, north)


# An emergency they handled


@pytest.mark.parametrize(("thanked", "said"), [(True, True), (False, False)])
def test_their_page_thanks_them(north, mother, thanked, said):
    keep(north.educator, north.family, "event", **event_body(north.mother, thanked=thanked))

    assert ("On 12 May 2026 you handled an emergency. Thank you." in text(mother, north.mother)) is said


def test_a_later_debrief_thanks_them_too(north, mother):
    event = keep(north.educator, north.family, "event", **event_body(north.mother, thanked=False))
    body = {"part": "debrief", "record": str(event.intent), "on": "2026-05-14", "debrief_by": "R", "debrief_said": "x"}
    keep(north.educator, north.family, "event", **body, thanked=True)

    assert "you handled an emergency. Thank you." in text(mother, north.mother)


def test_who_did_not_handle_it_reads_nothing_of_it(north, mother):
    keep(north.educator, north.family, "event", **event_body(north.father))

    assert "emergency. Thank you" not in text(mother, north.mother)
    assert "emergency that you handled" not in read(mother, north)


@pytest.mark.parametrize("who", ["mother", "father"])
def test_no_caregiver_reads_the_staff_s_words_about_it(north, mother, who):
    keep(north.educator, north.family, "event", **event_body(getattr(north, who)))
    pages = mother.get(reverse("mine-family", args=[north.mother.public_id])), mother.get(own(north))

    assert [p for p in pages if "SECRET" in p.content.decode()] == []


# What is planned with them


def plan(home, caregiver, **changes):
    return keep(home.educator, home.family, "appointment", **appointment_body(caregiver, **changes))


def test_their_turn_is_read_in_plain_words(north, mother):
    spoken = {"kind": "in_person", "language": "Somali"}
    plan(north, north.mother, checks=north.educator.observer_id, interpreter=spoken)

    assert (
        "Thursday 21 May, 10:00 Changing the tube It is your turn. "
        f"{north.educator.signed_name} will be there and watch. It takes about 45 minutes. Where: at home. "
        "There will be an interpreter: in person, Somali." in text(mother, north.mother)
    )


def test_who_comes_along_reads_that_it_is_not_their_turn(north, mother):
    plan(north, north.father, who=[north.mother.case_id])

    assert "You come along; it is not your turn." in text(mother, north.mother)
    assert north.father.full_name not in text(mother, north.mother)


def test_what_does_not_concern_them_is_not_shown(north, mother):
    plan(north, north.father)

    assert "Next together" not in text(mother, north.mother)


def test_a_cancelled_one_says_so_without_the_reason(north, mother):
    keep(north.educator, north.family, "appointment", **off_body(plan(north, north.mother)))

    assert "This one is off." in text(mother, north.mother)
    assert "SECRET" not in text(mother, north.mother)
