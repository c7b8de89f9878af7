"""What an administrator may do to an account, and what the account's holder sees of it."""

from __future__ import annotations

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from tests.cast import NOW
from tests.factories import PASSWORD, MemberFactory
from tests.training.pages.entry.conftest import code_at, enrol, is_signed_in, sign_in, with_password
from training.pages.entry import second_factor
from training.people.models import AccountEntry


@pytest.fixture
def administrator(cast):
    with_password(cast.north.administrator.user)
    client = Client()
    client.force_login(cast.north.administrator.user)
    return client


def account_of(member):
    return reverse("member-account", args=[member.public_id])


def act(client, member, what, **more):
    fields = {"what": what, "because": "Left the ward", "password": PASSWORD, **more}
    return client.post(account_of(member), fields)


def offered(client, member):
    return {code for code, _words, _grave in client.get(account_of(member)).context["acts"]}


# Who may


@pytest.mark.parametrize("role", ["educator", "supervisor", "auditor"])
def test_only_an_administrator_gets_there(cast, client, signed_in, role):
    signed_in(getattr(cast.north, role))

    assert client.get(account_of(cast.north.educator)).status_code == 403


def test_a_member_of_another_organisation_is_not_found(cast, administrator):
    assert act(administrator, cast.south.educator, "closed").status_code == 404


def test_nobody_does_it_to_their_own_account(cast, administrator):
    act(administrator, cast.north.administrator, "closed")

    assert is_signed_in(administrator)
    assert offered(administrator, cast.north.administrator) == set()


@pytest.mark.parametrize("wrong", [{"password": "not the password"}, {"because": ""}, {"what": "deleted"}])
def test_a_wrong_form_closes_nothing(cast, administrator, nurse, wrong):
    act(administrator, cast.north.educator, **{"what": "closed", **wrong})

    nurse.refresh_from_db()
    assert nurse.is_active


# Closing and opening


def test_closing_stops_an_open_session(cast, administrator, nurse):
    open_one = Client()
    open_one.force_login(nurse)
    assert is_signed_in(open_one)

    act(administrator, cast.north.educator, "closed")

    assert not is_signed_in(open_one)


def test_a_closed_account_does_not_sign_in(cast, administrator, client, nurse):
    act(administrator, cast.north.educator, "closed")
    sign_in(client, nurse.username)

    assert not is_signed_in(client)


def test_opening_lets_in_again_but_revives_no_session(cast, administrator, client, nurse):
    old = Client()
    old.force_login(nurse)
    act(administrator, cast.north.educator, "closed")
    act(administrator, cast.north.educator, "reopened")
    sign_in(client, nurse.username)

    assert is_signed_in(client)
    assert not is_signed_in(old)


def test_who_did_it_and_why_is_kept_and_shown_to_both(cast, administrator, client, nurse):
    act(administrator, cast.north.educator, "closed")
    act(administrator, cast.north.educator, "reopened", because="Back from leave")
    sign_in(client, nurse.username)

    for page in (administrator.get(account_of(cast.north.educator)), client.get(reverse("account"))):
        text = page.content.decode()
        assert "the account closed by" in text
        assert "Left the ward" in text
        assert "Back from leave" in text
        assert cast.north.administrator.signed_name in text


# More than one place


@pytest.fixture
def two_places(cast):
    MemberFactory(organisation=cast.south.organisation, user=cast.north.educator.user)


def test_an_account_with_another_place_is_not_touched(cast, administrator, nurse, two_places):
    for what in ("closed", "reset", "second_factor"):
        act(administrator, cast.north.educator, what)

    nurse.refresh_from_db()
    assert nurse.is_active
    assert not AccountEntry.objects.exists()


def test_the_page_says_so_in_words(cast, administrator, two_places):
    text = administrator.get(account_of(cast.north.educator)).content.decode()

    assert "This account has another place too" in text
    assert "give it a last day" in text


def test_a_caregivers_place_is_another_place(cast, administrator, nurse):
    mother = cast.north.mother
    mother.user = nurse
    mother.save()

    assert offered(administrator, cast.north.educator) == set()


@pytest.mark.parametrize(("through", "is_other"), [(date(2026, 5, 13), False), (date(2026, 5, 14), True)])
def test_a_place_that_is_over_is_none(cast, administrator, through, is_other):
    MemberFactory(organisation=cast.south.organisation, user=cast.north.educator.user, through=through)

    assert ("closed" not in offered(administrator, cast.north.educator)) is is_other


# The lock


def locked(nurse):
    for _n in range(5):
        sign_in(Client(), nurse.username, "not the password")


def test_lifting_a_lock_lets_in_at_once(cast, administrator, client, nurse):
    locked(nurse)
    act(administrator, cast.north.educator, "unlocked")
    sign_in(client, nurse.username)

    assert is_signed_in(client)


def test_a_lock_is_lifted_for_somebody_with_another_place_too(cast, administrator, client, nurse, two_places):
    locked(nurse)
    act(administrator, cast.north.educator, "unlocked")
    sign_in(client, nurse.username)

    assert is_signed_in(client)


def test_no_lock_no_button(cast, administrator, nurse):
    assert "unlocked" not in offered(administrator, cast.north.educator)


# The second factor


def test_a_lost_phone(cast, administrator, client, nurse):
    enrol(nurse)
    open_one = Client()
    open_one.force_login(nurse)
    act(administrator, cast.north.educator, "second_factor")

    assert not second_factor.has_second_factor(nurse)
    assert not is_signed_in(open_one)


def test_an_administrator_with_a_second_factor_gives_a_code(cast, administrator, nurse):
    enrol(cast.north.administrator.user)
    act(administrator, cast.north.educator, "closed")
    nurse.refresh_from_db()
    assert nurse.is_active

    act(administrator, cast.north.educator, "closed", second_factor=code_at())
    nurse.refresh_from_db()
    assert not nurse.is_active


# The link


def link(administrator, member):
    page = act(administrator, member, "reset").content.decode()
    return re.search(r"<code>http://testserver(/new-password/[^<]+)</code>", page).group(1)


NEW = {"new_password": "seven brown bears", "new_password_again": "seven brown bears"}


def follow(client, address):
    answer = client.get(address)
    return client.post(answer.url, NEW) if answer.status_code == 302 else answer


def test_the_link_sets_a_new_password(cast, administrator, client, nurse):
    follow(client, link(administrator, cast.north.educator))
    sign_in(client, nurse.username, "seven brown bears")

    assert is_signed_in(client)


def test_the_link_signs_nobody_in_by_itself(cast, administrator, client, nurse):
    follow(client, link(administrator, cast.north.educator))

    assert not is_signed_in(client)


def test_the_second_factor_is_asked_for_all_the_same(cast, administrator, client, nurse):
    enrol(nurse)
    follow(client, link(administrator, cast.north.educator))

    assert sign_in(client, nurse.username, "seven brown bears").url == reverse("sign-in-code")


def test_a_new_password_opens_a_lock(cast, administrator, client, nurse):
    address = link(administrator, cast.north.educator)
    locked(nurse)
    follow(client, address)
    sign_in(client, nurse.username, "seven brown bears")

    assert is_signed_in(client)


def used(cast, administrator, nurse, address):
    follow(Client(), address)


def closed(cast, administrator, nurse, address):
    act(administrator, cast.north.educator, "closed")


def closed_and_opened(cast, administrator, nurse, address):
    act(administrator, cast.north.educator, "closed")
    act(administrator, cast.north.educator, "reopened")


def signed_out_everywhere(cast, administrator, nurse, address):
    client = Client()
    client.force_login(nurse)
    client.post(reverse("sign-out-everywhere"))


def changed(cast, administrator, nurse, address):
    nurse.set_password("nine white whales")
    nurse.save()


@pytest.mark.parametrize("first", [used, closed, closed_and_opened, signed_out_everywhere, changed])
def test_the_link_is_dead_after(cast, administrator, client, nurse, first):
    address = link(administrator, cast.north.educator)
    first(cast, administrator, nurse, address)

    answer = follow(client, address)

    assert answer.status_code == 410
    assert "This link does not work" in answer.content.decode()


@pytest.mark.parametrize(("hours", "works"), [(24, True), (24.01, False)])
def test_the_link_works_for_a_day(cast, administrator, client, nurse, hours, works):
    address = link(administrator, cast.north.educator)
    with time_machine.travel(NOW + timedelta(hours=hours), tick=False):
        assert (client.get(address).status_code == 302) is works


def test_a_link_for_one_is_no_link_for_another(cast, administrator, client, nurse):
    mine = link(administrator, cast.north.educator).split("/")
    theirs = link(administrator, cast.north.supervisor).split("/")

    assert client.get("/".join([*mine[:2], theirs[2], *mine[3:]])).status_code == 410
