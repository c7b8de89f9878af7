"""Joining with a code, as somebody does who has never been here: typed, who they are, an account, their page."""

from __future__ import annotations

import re
import uuid
from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from tests.cast import NOW, TODAY
from tests.factories import PASSWORD, UserFactory
from training.invitations import deeds, tries
from training.invitations.models import Invitation
from training.people.models import Caregiver, User

NEW = {"username": "marit.lind", "password": "three quiet words"}
PERSON = {"name": "Marit", "born": "1990-05-01"}


def type_code(client, code):
    return client.post(reverse("join"), {"code": code})


def come_to_the_account(client, code):
    type_code(client, code)
    return client.post(reverse("join-you"), PERSON)


def text(answer):
    return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", answer.content.decode().split("<main", 1)[1]))


def is_open():
    return Invitation.objects.unanswered().exists()


def test_a_visitor_finds_where_to_type_it(client, db):
    assert "Join with your code" in text(client.get(reverse("join")))


def test_the_whole_way(cast, client, code):
    assert type_code(client, code).url == reverse("join-you")
    assert client.post(reverse("join-you"), PERSON).url == reverse("join-new")
    client.post(reverse("join-new"), NEW)
    mother = cast.north.mother
    page = client.get(reverse("home"), follow=True)

    assert mother.user.check_password(NEW["password"])
    assert (mother.user.username, mother.user.full_name) == ("marit.lind", mother.full_name)
    assert page.redirect_chain[-1][0] == reverse("mine-family", args=[mother.public_id])
    assert "This is your page, Marit." in text(page)


def test_the_same_person_signs_in_with_it_afterwards(cast, client, code):
    come_to_the_account(client, code)
    client.post(reverse("join-new"), NEW)
    later = Client()
    later.post(reverse("sign-in"), NEW)

    assert later.get(reverse("mine"), follow=True).status_code == 200


def test_the_code_stands_in_no_address(client, code):
    answers = [type_code(client, code), client.post(reverse("join-you"), PERSON), client.post(reverse("join-new"), NEW)]

    assert not [a.url for a in answers if code.replace("-", "")[:4] in a.url.upper()]


def test_nothing_of_the_code_is_in_the_session(client, code):
    type_code(client, code)

    assert code not in str(dict(client.session))


@pytest.mark.parametrize("wrong", ["AAAA-BBBB-CCCC", "x", "é" * 12])
def test_a_code_that_does_not_fit_says_so_at_its_field(client, code, wrong):
    answer = type_code(client, wrong)

    assert answer.context["form"].errors["code"][0].startswith("This code does not work.")


def test_used_old_and_unknown_read_the_same(cast, client, code):
    come_to_the_account(client, code)
    client.post(reverse("join-new"), NEW)
    used = type_code(Client(), code)
    unknown = type_code(Client(), "AAAA-BBBB-CCCC")

    assert used.context["form"].errors == unknown.context["form"].errors
    assert used.status_code == unknown.status_code


def test_too_many_guesses_wait(client, code):
    for _ in range(tries.FROM_ONE):
        type_code(client, "AAAA-BBBB-CCCC")
    answer = type_code(client, code)

    assert answer.status_code == 429
    assert "Wait 15 minutes" in text(answer)
    assert is_open()


def test_behind_a_proxy_each_address_counts_for_itself(client, code, settings):
    settings.CLIENT_ADDRESS_HEADER = "X-Forwarded-For"
    for n in range(tries.FROM_ONE):
        client.post(reverse("join"), {"code": "AAAA"}, headers={"X-Forwarded-For": f"10.0.0.{n}, 192.0.2.1"})

    guessing = client.post(reverse("join"), {"code": code}, headers={"X-Forwarded-For": "10.9.9.9, 192.0.2.1"})
    other = client.post(reverse("join"), {"code": code}, headers={"X-Forwarded-For": "192.0.2.2"})
    assert (guessing.status_code, other.status_code) == (429, 302)


# Who it is for


def test_a_stranger_reads_one_letter_of_whom_it_is_for(client, code):
    type_code(client, code)
    read = text(client.get(reverse("join-you")))

    assert "Their name begins with M ." in read
    assert "Marit" not in read
    assert "Ilse" not in read


@pytest.mark.parametrize("wrong", [{"name": "Joram"}, {"born": "1990-05-02"}, {"born": ""}, {"name": ""}])
def test_who_does_not_know_the_person_comes_no_further(client, code, wrong):
    type_code(client, code)
    answer = client.post(reverse("join-you"), {**PERSON, **wrong})

    assert answer.context["form"].errors
    assert client.get(reverse("join-new")).url == reverse("join")
    assert is_open()


@pytest.mark.parametrize("page", ["join-you", "join-new", "join-have"])
def test_without_the_code_there_is_no_page(client, code, page):
    assert client.get(reverse(page)).url == reverse("join")
    assert client.post(reverse(page), {**PERSON, **NEW}).url == reverse("join")


@pytest.mark.parametrize("page", ["join-new", "join-have"])
def test_without_the_person_there_is_no_account(client, code, page):
    type_code(client, code)

    assert client.post(reverse(page), NEW).url == reverse("join")
    assert not User.objects.filter(username="marit.lind").exists()


def test_half_an_hour_later_the_code_is_typed_again(client, code):
    come_to_the_account(client, code)
    with time_machine.travel(NOW + timedelta(minutes=31), tick=False):
        assert client.post(reverse("join-new"), NEW).url == reverse("join")
    assert is_open()


# Already signed in


@pytest.mark.parametrize("who", ["educator", "supervisor"])
def test_who_is_signed_in_signs_out_first_and_burns_nothing(cast, client, code, who):
    client.force_login(getattr(cast.north, who).user)
    answer = type_code(client, code)

    assert "begins with M" in text(answer)
    assert "Marit" not in text(answer)
    assert "Sign out" in text(answer)
    assert is_open()
    assert type_code(Client(), code).url == reverse("join-you")


def test_a_caregiver_of_another_family_signs_out_first(cast, client, code):
    user = UserFactory()
    Caregiver.objects.filter(pk=cast.south.mother.pk).update(user=user)
    client.force_login(user)

    assert "Sign out first" in text(type_code(client, code))
    assert is_open()


def test_going_back_after_joining_leads_home(client, code):
    come_to_the_account(client, code)
    client.post(reverse("join-new"), NEW)

    assert client.post(reverse("join-new"), NEW).url == reverse("home")
    assert User.objects.filter(username="marit.lind").count() == 1


# The account


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"password": "short"}, "password"),
        ({"password": "1234567890"}, "password"),
        ({"password": "marit.lind"}, "password"),
        ({"password": ""}, "password"),
        ({"username": ""}, "username"),
        ({"username": "TAKEN"}, "username"),
        ({"username": "ＴＡＫＥＮ "}, "username"),  # the same name in wide letters
    ],
)
def test_a_bad_account_is_not_made_and_burns_nothing(cast, client, code, fields, field):
    UserFactory(username="taken")
    come_to_the_account(client, code)
    answer = client.post(reverse("join-new"), {**NEW, **fields})

    assert list(answer.context["form"].errors) == [field]
    assert cast.north.mother.user is None
    assert is_open()


def test_the_rules_for_a_password_are_said_in_plain_words(client, code):
    come_to_the_account(client, code)

    assert "At least 10 letters, numbers or signs." in text(client.get(reverse("join-new")))


def test_an_account_that_is_there_is_added_and_signs_in_by_the_front_door(cast, client, code):
    user = UserFactory(username="worker")
    come_to_the_account(client, code)
    answer = client.post(reverse("join-have"), {"username": "worker", "password": PASSWORD})

    assert answer.url == reverse("sign-in")
    assert cast.north.mother.user == user
    assert client.get(reverse("mine")).url.startswith(reverse("sign-in"))


def test_a_wrong_password_adds_nothing(cast, client, code):
    UserFactory(username="worker")
    come_to_the_account(client, code)
    answer = client.post(reverse("join-have"), {"username": "worker", "password": "wrong"})

    assert answer.context["form"].non_field_errors()
    assert cast.north.mother.user is None
    assert is_open()


def test_a_closed_account_is_not_added(cast, client, code):
    UserFactory(username="worker", is_active=False)
    come_to_the_account(client, code)
    client.post(reverse("join-have"), {"username": "worker", "password": PASSWORD})

    assert cast.north.mother.user is None


def test_the_other_caregiver_s_account_burns_nothing(cast, client, code):
    user = UserFactory(username="joram")
    Caregiver.objects.filter(pk=cast.north.father.pk).update(user=user)
    come_to_the_account(client, code)
    answer = client.post(reverse("join-have"), {"username": "joram", "password": PASSWORD})

    assert "Your code still works." in str(answer.context["form"].non_field_errors())
    assert cast.north.mother.user is None
    assert is_open()


def test_a_code_withdrawn_on_the_way_opens_nothing(cast, client, code):
    come_to_the_account(client, code)
    deeds.withdraw(caregiver=cast.north.mother, by=cast.north.educator, now=NOW)

    assert client.post(reverse("join-new"), NEW).url == reverse("join")
    assert cast.north.mother.user is None


def test_a_last_day_that_is_over_closes_the_way(cast, client, code):
    come_to_the_account(client, code)
    Caregiver.objects.filter(pk=cast.north.mother.pk).update(through=TODAY - timedelta(days=1))

    assert client.post(reverse("join-new"), NEW).url == reverse("join")
    assert not User.objects.filter(username="marit.lind").exists()


@pytest.mark.parametrize("page", ["join", "join-you", "join-new", "join-have"])
def test_no_page_on_the_way_is_kept_by_a_browser(client, code, page):
    come_to_the_account(client, code)
    answer = client.get(reverse(page))

    assert answer["Cache-Control"] == "private, no-store"


def test_a_second_invitation_brings_a_second_family_to_one_account(cast, client, code):
    come_to_the_account(client, code)
    client.post(reverse("join-new"), NEW)
    other = deeds.invite(caregiver=cast.south.mother, by=cast.south.educator, intent=uuid.uuid4(), now=NOW)[1]
    second = Client()
    type_code(second, other)
    second.post(reverse("join-you"), {"name": "Desta", "born": "1990-05-01"})
    second.post(reverse("join-have"), NEW)

    assert list(Caregiver.objects.of(cast.north.mother.user)) == [cast.north.mother, cast.south.mother]
