"""A caregiver's own page: who may open it, what stands on it, in which words."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta
from html import unescape

import pytest
from django.urls import reverse

from tests.cast import ALL_ALONE, NOW, TODAY, plan, show, sign_off_suction, write
from tests.training.pages.caregiver.acts import address, page, skills, text
from training.people.models import Caregiver, Family
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.models import CachedStanding
from training.standing.questions import FamilyOn

# Who


def test_the_first_page_leads_to_one_s_own(north, mother):
    answer = mother.get(reverse("mine"))

    assert (answer.status_code, answer.url) == (302, address(north.mother))


def test_one_s_own_page_opens(north, mother):
    assert "What you can do for Ilse" in text(mother, north.mother)


def test_a_second_caregiver_of_the_family_cannot_open_it(north, signed_in):
    assert signed_in(north.father.user).get(address(north.mother)).status_code == 404


def test_nor_answer_for_the_first(north, signed_in):
    show(north, north.mother, "emergency", TODAY)
    before = Record.objects.count()
    url = reverse("mine-sign", args=[north.mother.public_id, "emergency"])
    answer = signed_in(north.father.user).post(url, {"intent": str(uuid.uuid4()), "password": "x"})

    assert (answer.status_code, Record.objects.count()) == (404, before)


@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator", "auditor"])
def test_staff_have_no_such_page(north, signed_in, role):
    client = signed_in(getattr(north, role))

    assert client.get(address(north.mother)).status_code == 404
    assert client.get(reverse("mine")).status_code == 404


def test_a_stranger_has_none(cast, north, signed_in):
    assert signed_in(cast.stranger).get(reverse("mine")).status_code == 404


@pytest.mark.parametrize("name", ["mine", "mine-family", "mine-sign"])
def test_a_visitor_signs_in_first(north, client, name):
    args = {"mine": [], "mine-family": [north.mother.public_id], "mine-sign": [north.mother.public_id, "suction"]}
    answer = client.get(reverse(name, args=args[name]))

    assert answer.url.split("?")[0] == reverse("sign-in")


def test_a_caregiver_sees_no_staff_page(north, mother):
    assert mother.get(reverse("members")).status_code == 404


@pytest.mark.parametrize(
    ("days", "status"),
    [
        ({"through": TODAY}, 200),
        ({"through": TODAY - timedelta(days=1)}, 404),
        ({"from_day": TODAY}, 200),
        ({"from_day": TODAY + timedelta(days=1)}, 404),
    ],
)
def test_the_page_is_there_from_the_first_through_the_last_day(north, mother, days, status):
    Caregiver.objects.filter(pk=north.mother.pk).update(**days)

    assert mother.get(address(north.mother)).status_code == status


def test_the_last_day_is_the_family_s(north, mother):
    Family.objects.filter(pk=north.family.pk).update(time_zone="Pacific/Kiritimati")  # 22:00 there, the same day
    Caregiver.objects.filter(pk=north.mother.pk).update(through=TODAY)
    assert mother.get(address(north.mother)).status_code == 200

    Family.objects.filter(pk=north.family.pk).update(time_zone="Pacific/Honolulu")  # the evening before
    Caregiver.objects.filter(pk=north.mother.pk).update(from_day=TODAY)
    assert mother.get(address(north.mother)).status_code == 404


def test_several_families_are_a_choice(cast, north, mother):
    other = cast.south.mother
    Caregiver.objects.filter(pk=other.pk).update(user=north.mother.user)
    answer = mother.get(reverse("mine"))

    hats = mother.get(answer.url).context["hats"]

    assert [hat.public_id for hat in hats] == [north.mother.public_id, other.public_id]
    assert [hat.says for hat in hats] == ["Marit for Ilse", "Desta for Noor"]
    assert mother.get(address(other)).status_code == 200


# What stands on it


def test_the_standing_is_the_staff_s(north, mother):
    sign_off_suction(north, north.mother)
    show(north, north.mother, "emergency", TODAY - timedelta(days=1))
    staff = FamilyOn(open_file(north.family), TODAY)
    own = {p.cell.skill.code: p.cell.standing for p in page(mother, north.mother).posts}

    assert own == {code: staff.cell(north.mother, code).standing for code in own}
    assert len(own) == 5


def test_the_standing_is_the_stored_one(north, mother):
    sign_off_suction(north, north.mother)
    spans = CachedStanding.objects.filter(caregiver=north.mother, start__lte=TODAY).exclude(through__lt=TODAY)
    own = {p.cell.skill.code: str(p.cell.standing) for p in page(mother, north.mother).posts}

    assert own == {span.skill: span.standing for span in spans}


def test_each_word_is_the_word_of_the_standing(north, mother):
    sign_off_suction(north, north.mother)
    words = {p.cell.skill.code: p.word for p in page(mother, north.mother).posts}

    assert words == {
        "hands": "not started",
        "suction": "ready alone",
        "tube_change": "not started",
        "emergency": "not started",
        "cpr_card": "not started",
    }


def test_the_count_is_of_what_is_asked(north, mother):
    sign_off_suction(north, north.mother)

    assert "Ready alone: 1 of 5 . 4 not started." in text(mother, north.mother)


def test_only_what_is_asked_stands_there(north, mother, signed_in):
    deeds.write_caregiver(
        family=north.family,
        full_name="Marit Okonjo-Lind",
        called="Marit",
        relation="mother",
        born=None,
        is_patient=False,
        from_day=None,
        through=None,
        sets=["daytime"],
        by=north.educator,
        intent=uuid.uuid4(),
        at=NOW,
        caregiver=north.mother,
    )

    assert skills(page(mother, north.mother).posts) == ["hands", "suction", "cpr_card"]
    asked, _heading, others = text(mother, north.mother).partition("Not asked of you")
    assert "Changing the tube" not in asked
    assert "Changing the tube not asked of you" in others


def test_with_no_set_nothing_is_asked(north, mother):
    deeds.write_caregiver(
        family=north.family,
        full_name="Marit Okonjo-Lind",
        called="Marit",
        relation="mother",
        born=None,
        is_patient=False,
        from_day=None,
        through=None,
        sets=[],
        by=north.educator,
        intent=uuid.uuid4(),
        at=NOW,
        caregiver=north.mother,
    )

    assert "Nothing is asked of you today." in text(mother, north.mother)


def test_before_a_care_plan_the_page_says_so(north, mother):
    number = Record.objects.of_chain(north.family.public_id).get(kind="care_plan")
    write(north.educator, north.family, "void", NOW, record=str(number.intent), reason="Wrong family.")

    assert "There is no care plan yet." in text(mother, north.mother)


def test_what_comes_next_is_what_may_be_practised(north, mother):
    assert skills(page(mother, north.mother).next) == ["hands", "suction", "emergency"]


def test_next_says_what_is_still_needed(north, mother):
    show(north, north.mother, "suction", TODAY - timedelta(days=1))

    assert "You have shown it 1 of 2 times on the patient. 1 more, on another day." in text(mother, north.mother)


def test_what_another_skill_opens_is_later(north, mother):
    assert skills(page(mother, north.mother).later) == ["tube_change"]
    assert "Opens when this is done: Suctioning the tube and Wash your hands." in text(mother, north.mother)


def test_ready_alone_says_through_when(north, mother):
    sign_off_suction(north, north.mother)

    assert "through 4 November 2026" in text(mother, north.mother)
    assert "days left" not in text(mother, north.mother)


@pytest.mark.parametrize(
    ("left", "words"),
    [(30, None), (29, "29 days left"), (1, "1 day left"), (0, "Today is the last day")],
)
def test_the_days_left_are_said_when_they_are_few(north, mother, left, words):
    last = (TODAY + timedelta(days=left)).isoformat()
    body = {"caregiver": north.mother.case_id, "skill": "suction", "on": "2026-05-01"}
    write(north.supervisor, north.family, "accepted", NOW, **body, last_day=last, organisation="Farholt")
    shown = text(mother, north.mother)

    assert ("left" in shown or "Today is" in shown) is (words is not None)
    assert (words or "") in shown


def test_a_card_that_runs_out_is_renewed_and_not_shown(north, mother):
    last = (TODAY + timedelta(days=9)).isoformat()
    card = {"caregiver": north.mother.case_id, "skill": "cpr_card", "on": "2026-05-01", "through": last}
    write(north.educator, north.family, "certificate", NOW, **card)
    shown = text(mother, north.mother)

    assert "9 days left Renew your card before then, and bring the new one." in shown
    assert "Ask your nurse to see it" not in shown


def test_the_emergency_sentence_stands_above_the_first_not_alone(north, mother):
    shown = text(mother, north.mother)
    sentence = shown.index("In an emergency, call for help and do what you were taught.")

    assert shown.index("Not alone yet") < sentence < shown.index("not started", sentence)
    assert shown.count("In an emergency, call") == 1


def test_what_is_to_be_shown_again_is_counted_so(north, mother):
    sign_off_suction(north, north.mother)
    plan(north, north.family, TODAY, {"suction": True, "cuff": "none", "tube_id_mm": 6})

    assert "Ready alone: 0 of 5 . 4 not started, 1 to show again." in text(mother, north.mother)


def test_what_the_care_plan_does_not_call_for_is_not_asked(north, mother):
    plan(north, north.family, TODAY, {"suction": False, "cuff": "none", "tube_id_mm": 5})

    assert skills(page(mother, north.mother).not_asked) == ["suction"]
    assert "Not asked of you Suctioning the tube not asked of you" in text(mother, north.mother)


def test_a_changed_tube_asks_to_show_it_again(north, mother):
    sign_off_suction(north, north.mother)
    plan(north, north.family, TODAY, {"suction": True, "cuff": "none", "tube_id_mm": 6})

    assert "please show us again Something changed: how wide the tube is. Please show us this again." in text(
        mother, north.mother
    )


def test_a_changed_tube_asks_nothing_again_of_who_never_showed_it(north, mother):
    plan(north, north.family, TODAY, {"suction": True, "cuff": "none", "tube_id_mm": 6})

    assert "again" not in text(mother, north.mother)


# Why one did not count


def test_the_step_that_needed_a_word_is_named(north, mother):
    show(
        north,
        north.mother,
        "suction",
        TODAY - timedelta(days=1),
        results={**ALL_ALONE["suction"], "s01": "prompted"},
    )

    assert "13 May 2026: needs one more. We look at this together: step 1, “Wash your hands”." in text(
        mother, north.mother
    )


def test_our_paperwork_is_not_theirs(north, mother):
    show(north, north.mother, "hands", TODAY - timedelta(days=1), observers=[north.auditor.observer_id])

    assert "this was our paperwork, not you" in text(mother, north.mother)


def test_practice_is_never_counted_against_anyone(north, mother):
    show(north, north.mother, "hands", TODAY - timedelta(days=1), purpose="practice")

    assert page(mother, north.mother).not_counted == []


@pytest.mark.parametrize("name", ["李小龍", "محمد علي", "<b>Marit</b>", "Ólafía " * 11])
def test_a_name_is_shown_as_it_is(north, mother, name):
    where = address(north.mother)
    Caregiver.objects.filter(pk=north.mother.pk).update(called=name.strip())
    body = unescape(re.sub(r"<[^>]+>", " ", mother.get(where).content.decode()))

    assert f"You are {name.strip()}." in body


def test_a_patient_reads_about_themself(north, mother):
    Caregiver.objects.filter(pk=north.mother.pk).update(is_patient=True)

    assert "What you can do yourself" in text(mother, north.mother)
