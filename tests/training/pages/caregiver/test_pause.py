"""A pause in one touch, no reason asked; staff see it; a member ends it and its days stay."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from competency.readiness import Verdict
from competency.standing import Standing
from tests.cast import NOW, TODAY, show, sign_off_suction, write
from tests.factories import PASSWORD
from tests.training.pages.caregiver.acts import address, page, text, text_of
from training.pages.board.lines import Line
from training.records.models import Record
from training.standing.file import open_file
from training.standing.models import BoardSpan, Trouble
from training.standing.questions import FamilyOn


def pause(client, home, intent=None, name="mine-pause", caregiver=None):
    caregiver = caregiver or home.mother
    return client.post(reverse(name, args=[caregiver.public_id]), {"intent": intent or str(uuid.uuid4())})


def holds(home):
    return list(Record.objects.of_chain(home.family.public_id).filter(kind="hold"))


def standing(home, day=TODAY, skill="suction", who=None):
    return FamilyOn(open_file(home.family), day).cell(who or home.mother, skill).standing


def of_family(home, name, **more):
    return reverse(name, kwargs={"family": home.family.public_id, **more})


@pytest.fixture
def signed_off(north):
    show(north, north.mother, "hands", TODAY - timedelta(days=12))
    sign_off_suction(north, north.mother)
    sign_off_suction(north, north.father)
    return north


def test_one_touch_puts_everything_on_pause(signed_off, mother):
    answer = pause(mother, signed_off)
    posts = page(mother, signed_off.mother).posts

    assert answer.url == address(signed_off.mother)
    assert {p.cell.skill.code for p in posts if p.is_ready} == set()
    assert {p.word for p in posts if p.cell.standing is Standing.HELD} == {"on pause"}
    assert [p.cell.skill.code for p in posts if p.cell.may_practise] == []


def test_only_their_own_skills_are_paused(signed_off, mother):
    pause(mother, signed_off)

    assert (standing(signed_off), standing(signed_off, who=signed_off.father)) == (Standing.HELD, Standing.SIGNED_OFF)


def test_it_is_a_hold_without_a_reason_signed_by_themself(signed_off, mother):
    pause(mother, signed_off)
    body = holds(signed_off)[0].data

    assert (body["skill"], body["on"], body["through"], body.get("reason")) == (None, "2026-05-14", None, None)
    assert (body["signed"]["id"], body["signed"]["meaning"]) == (signed_off.mother.case_id, "I need a pause.")


def test_the_same_touch_twice_is_one_and_so_is_another_touch(signed_off, mother):
    intent = str(uuid.uuid4())
    pause(mother, signed_off, intent)
    pause(mother, signed_off, intent)
    pause(mother, signed_off)

    assert len(holds(signed_off)) == 1


def test_no_reason_and_no_password_is_asked(signed_off, mother):
    body = mother.get(address(signed_off.mother)).content.decode()
    form = body[body.index(reverse("mine-pause", args=[signed_off.mother.public_id])) :].split("</form>")[0]

    assert "password" not in form
    assert "textarea" not in form


def test_the_page_says_so_with_what_to_do_in_an_emergency(signed_off, mother):
    pause(mother, signed_off)
    read = text(mother, signed_off.mother)

    assert "On pause since 14 May 2026" in read
    assert "In an emergency, call for help and do what you were taught." in read
    assert "I need a pause" not in read


@pytest.mark.parametrize("name", ["mine-pause", "mine-go-on", "mine-agree"])
def test_nobody_touches_for_another(cast, signed_off, mother, client, name):
    father = signed_off.father
    assert pause(mother, signed_off, name=name, caregiver=father).status_code == 404
    assert pause(Client(), signed_off, name=name).status_code == 302
    staff = Client()
    staff.force_login(signed_off.educator.user)

    assert pause(staff, signed_off, name=name).status_code == 404
    assert pause(mother, signed_off, "no-intent", name=name).status_code == 400
    assert holds(signed_off) == []


def test_a_look_pauses_nothing(signed_off, mother):
    assert mother.get(reverse("mine-pause", args=[signed_off.mother.public_id])).status_code == 405
    assert holds(signed_off) == []


# Going on


def test_ready_to_go_on_is_said_to_staff_and_changes_nothing(signed_off, mother, client):
    pause(mother, signed_off)
    for _ in range(2):
        pause(mother, signed_off, name="mine-go-on")
    staff = Client()
    staff.force_login(signed_off.educator.user)
    read = text_of(staff.get(of_family(signed_off, "family")))

    assert "Marit is on pause since 14 May 2026, at their own wish." in read
    assert "On 14 May 2026 they said: “I am ready to go on.”" in read
    assert Record.objects.of_chain(signed_off.family.public_id).filter(kind="comment").count() == 1
    assert standing(signed_off) is Standing.HELD
    assert "They will talk with you." in text(mother, signed_off.mother)


def test_without_a_pause_there_is_nothing_to_say(signed_off, mother):
    pause(mother, signed_off, name="mine-go-on")

    assert not Record.objects.of_chain(signed_off.family.public_id).filter(kind="comment").exists()


# Staff


def end(home, who, number, **changes):
    client = Client()
    client.force_login(who.user)
    fields = {"intent": str(uuid.uuid4()), "password": PASSWORD, "reason": "Slept, feels able.", **changes}
    return client.post(of_family(home, "pause-end", number=number), fields)


@pytest.mark.parametrize("role", ["educator", "supervisor", "administrator"])
def test_a_member_ends_it_the_same_day(signed_off, mother, role):
    pause(mother, signed_off)
    end(signed_off, getattr(signed_off, role), holds(signed_off)[0].number)

    assert standing(signed_off) is Standing.SIGNED_OFF
    assert len(holds(signed_off)) == 1
    assert "On pause since" not in text(mother, signed_off.mother)


def test_its_days_stay_in_the_record(signed_off, mother):
    """Paused on the 14th, ended on the 17th: held through the 16th, free on the 17th, known so on any later day."""
    pause(mother, signed_off)
    later = NOW + timedelta(days=3)
    with time_machine.travel(later, tick=False):
        end(signed_off, signed_off.educator, holds(signed_off)[0].number)
    days = [standing(signed_off, TODAY + timedelta(days=n)) for n in range(-1, 5)]

    held = [Standing.HELD] * 3
    assert days == [Standing.SIGNED_OFF, *held, Standing.SIGNED_OFF, Standing.SIGNED_OFF]
    assert standing_as_known(signed_off, NOW) is Standing.HELD


def standing_as_known(home, known_at):
    day = TODAY + timedelta(days=3)
    return FamilyOn(open_file(home.family), day, known_at + timedelta(hours=1)).cell(home.mother, "suction").standing


def test_both_records_of_the_end_carry_one_signature(signed_off, mother):
    pause(mother, signed_off)
    with time_machine.travel(NOW + timedelta(days=3), tick=False):
        end(signed_off, signed_off.educator, holds(signed_off)[0].number)
    void, closed = list(Record.objects.of_chain(signed_off.family.public_id))[-2:]

    assert (void.kind, closed.kind) == ("void", "hold")
    assert void.data["signed"]["together"] == [str(void.intent), str(closed.intent)]
    assert closed.data["signed"]["together"] == void.data["signed"]["together"]


def test_the_end_posted_twice_is_one_end(signed_off, mother):
    pause(mother, signed_off)
    number, intent = holds(signed_off)[0].number, str(uuid.uuid4())
    with time_machine.travel(NOW + timedelta(days=3), tick=False):
        answers = [end(signed_off, signed_off.educator, number, intent=intent).status_code for _ in range(2)]

    assert answers == [302, 302]
    assert len(holds(signed_off)) == 2


@pytest.mark.parametrize("wrong", [{"reason": ""}, {"password": "wrong"}])
def test_it_is_not_ended_without_password_and_words(signed_off, mother, wrong):
    pause(mother, signed_off)
    answer = end(signed_off, signed_off.educator, holds(signed_off)[0].number, **wrong)

    assert list(answer.context["form"].errors) == list(wrong)
    assert standing(signed_off) is Standing.HELD


def test_who_may_not_end_it(cast, signed_off, mother):
    pause(mother, signed_off)
    number = holds(signed_off)[0].number

    assert end(signed_off, signed_off.auditor, number).status_code == 403
    assert end(signed_off, cast.south.supervisor, number).status_code == 404
    assert standing(signed_off) is Standing.HELD


def test_a_hold_of_staff_s_is_not_ended_this_way(signed_off):
    made = write(signed_off.supervisor, signed_off.family, "hold", NOW, caregiver=signed_off.mother.case_id, skill=None,
                 on="2026-05-14", through=None, reason="Incident.")  # fmt: skip

    assert end(signed_off, signed_off.supervisor, made.number).status_code == 404


def test_a_new_pause_can_follow(signed_off, mother):
    pause(mother, signed_off)
    end(signed_off, signed_off.educator, holds(signed_off)[0].number)
    pause(mother, signed_off)

    assert standing(signed_off) is Standing.HELD


def rows(home, **asked):
    client = Client()
    client.force_login(home.supervisor.user)
    return client.get(reverse("board"), asked)


def test_a_family_with_a_pause_needs_attention_on_the_board(signed_off, mother):
    pause(mother, signed_off)
    answer = rows(signed_off)
    row = next(r for r in answer.context["attention"] if r.family == signed_off.family)

    assert row.paused == ["Marit"]
    assert "Marit is on pause at their own wish." in text_of(answer)


@pytest.mark.parametrize(("on", "paused"), [("2026-05-13", []), ("2026-05-14", ["Marit"]), ("2026-06-01", ["Marit"])])
def test_the_board_of_another_day_knows_it_too(signed_off, mother, on, paused):
    pause(mother, signed_off)
    answer = rows(signed_off, on=on)
    found = [r for group in ("attention", "falling", "calm") for r in answer.context[group]]

    assert next(r for r in found if r.family == signed_off.family).paused == paused


def test_a_ready_family_with_a_pause_needs_attention_too(signed_off):
    """Where another caregiver carries the team the verdict stays, and the pause is still somebody's to talk about."""
    mother = signed_off.mother.case_id
    span = BoardSpan(family=signed_off.family, rank=Trouble.PAUSE, verdict=Verdict.READY.value, paused=[mother])
    row = Line(span, TODAY, None, [], [])

    assert (row.needs_attention, row.is_not_ready, row.paused) == (True, False, ["Marit"])


# What they read about it afterwards


def test_a_pause_that_is_over_is_not_called_taken_back(signed_off, mother):
    pause(mother, signed_off)
    end(signed_off, signed_off.educator, holds(signed_off)[0].number)
    read = text_of(mother.get(reverse("mine-records", args=[signed_off.mother.public_id])))

    assert "This pause is over." in read
    assert "This was taken back" not in read
    assert "Slept, feels able." not in read
