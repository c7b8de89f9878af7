"""Codes, recovery codes, turning them on and off, and being led to them."""

from __future__ import annotations

import time

import pytest
import time_machine
from allauth.mfa.models import Authenticator
from django.urls import reverse

from tests.cast import NOW
from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import (
    SECRET,
    code_at,
    enrol,
    is_signed_in,
    next_code,
    sign_in,
    with_password,
)
from training.pages.entry import second_factor

# RFC 6238, appendix B, SHA-1: the last six of its eight digits
VECTORS = [
    (59, "287082"),
    (1111111109, "081804"),
    (1111111111, "050471"),
    (1234567890, "005924"),
    (2000000000, "279037"),
]


@pytest.mark.parametrize(("seconds", "code"), VECTORS)
def test_codes_are_those_of_the_standard(seconds, code):
    with time_machine.travel(seconds, tick=False):
        assert second_factor.counter_of(SECRET, code) == seconds // 30


@pytest.mark.parametrize(("off", "fits"), [(-60, False), (-30, True), (0, True), (30, True), (60, False)])
def test_a_clock_half_a_minute_off_is_let_pass(now, off, fits):
    assert (second_factor.counter_of(SECRET, code_at(time.time() + off)) is not None) is fits


def test_a_code_works_once(nurse):
    enrol(nurse)
    assert second_factor.spend(nurse, code_at())

    with pytest.raises(second_factor.UsedAlreadyError):
        second_factor.spend(nurse, code_at())


def test_a_code_older_than_the_one_used_is_used_up_too(nurse):
    enrol(nurse)
    second_factor.spend(nurse, next_code())

    with pytest.raises(second_factor.UsedAlreadyError):
        second_factor.spend(nurse, code_at())


def test_the_code_that_turned_it_on_is_used_up(nurse):
    second_factor.turn_on(nurse, secret=SECRET, code=code_at())

    with pytest.raises(second_factor.UsedAlreadyError):
        second_factor.spend(nurse, code_at())


@pytest.mark.parametrize("typed", ["{}", " {} ", "{} ".upper()])
def test_a_recovery_code_works_once(nurse, typed):
    first = enrol(nurse)[0]

    assert second_factor.spend(nurse, typed.format(first))
    assert not second_factor.spend(nurse, first)
    assert second_factor.recovery_codes_left(nurse) == 9


def test_recovery_codes_are_not_readable_in_the_database(nurse):
    codes = enrol(nurse)

    kept = str(Authenticator.objects.get(user=nurse, type="recovery_codes").data)
    assert not [code for code in codes if code in kept or code.replace("-", "") in kept]


def test_new_recovery_codes_void_the_old(nurse):
    old = enrol(nurse)[0]
    second_factor.new_recovery_codes(nurse)

    assert not second_factor.spend(nurse, old)


def test_nobody_spends_anothers_code(cast, nurse):
    other = cast.north.supervisor.user
    codes = enrol(nurse)

    assert not second_factor.spend(other, code_at())
    assert not second_factor.spend(other, codes[0])


# Signing in


def test_the_password_alone_signs_nobody_in(client, nurse):
    enrol(nurse)

    answer = sign_in(client, nurse.username)

    assert answer.url == reverse("sign-in-code")
    assert not is_signed_in(client)


def test_the_code_signs_in(client, nurse):
    enrol(nurse)
    sign_in(client, nurse.username)

    client.post(reverse("sign-in-code"), {"second_factor": code_at()})

    assert is_signed_in(client)


def test_one_lands_where_one_wanted_to_go(client, nurse):
    enrol(nurse)
    client.post(reverse("sign-in") + "?next=/programmes/", {"username": nurse.username, "password": PASSWORD})

    assert client.post(reverse("sign-in-code"), {"second_factor": code_at()}).url == "/programmes/"


def test_another_site_is_no_place_to_go(client, nurse):
    enrol(nurse)
    client.post(reverse("sign-in") + "?next=https://example.org/", {"username": nurse.username, "password": PASSWORD})

    assert client.post(reverse("sign-in-code"), {"second_factor": code_at()}).url == reverse("home")


def test_a_code_used_before_does_not_sign_in(client, nurse):
    enrol(nurse)
    second_factor.spend(nurse, code_at())
    sign_in(client, nurse.username)

    answer = client.post(reverse("sign-in-code"), {"second_factor": code_at()})

    assert "used already" in answer.content.decode()
    assert not is_signed_in(client)


def test_the_code_is_not_asked_of_somebody_without_the_password(client, nurse):
    enrol(nurse)

    assert client.post(reverse("sign-in-code"), {"second_factor": code_at()}).url == reverse("sign-in")


@pytest.mark.parametrize(("seconds", "asks"), [(599, True), (600, False)])
def test_the_password_holds_for_ten_minutes(client, nurse, seconds, asks):
    enrol(nurse)
    sign_in(client, nurse.username)

    with time_machine.travel(NOW.timestamp() + seconds, tick=False):
        assert (client.get(reverse("sign-in-code")).status_code == 200) is asks


def test_a_password_changed_in_between_ends_the_half_sign_in(client, nurse):
    enrol(nurse)
    sign_in(client, nurse.username)
    nurse.set_password("another pass phrase")
    nurse.save()

    assert client.get(reverse("sign-in-code")).status_code == 302


# Turning it on and off


def secret_shown(client):
    client.get(reverse("second-factor"))
    return client.session["new_second_factor"]


def test_enrolling_shows_the_codes_once(client, signed_in, nurse):
    signed_in(nurse)
    secret = secret_shown(client)

    page = client.post(reverse("second-factor"), {"one_time_code": code_at(secret=secret), "password": PASSWORD})

    assert page.content.decode().count("<li><code>") == 10
    assert client.get(reverse("second-factor")).url == reverse("account")
    assert second_factor.has_second_factor(nurse)


@pytest.mark.parametrize("wrong", [{"one_time_code": "000000"}, {"password": "not the password"}])
def test_enrolling_asks_for_the_code_and_the_password(client, signed_in, nurse, wrong):
    signed_in(nurse)
    secret = secret_shown(client)

    client.post(reverse("second-factor"), {"one_time_code": code_at(secret=secret), "password": PASSWORD, **wrong})

    assert not second_factor.has_second_factor(nurse)


def test_a_wrong_code_keeps_the_secret_that_was_scanned(client, signed_in, nurse):
    signed_in(nurse)
    secret = secret_shown(client)
    client.post(reverse("second-factor"), {"one_time_code": "000000", "password": PASSWORD})

    assert secret_shown(client) == secret


def test_the_picture_and_the_letters_say_the_same(client, signed_in, nurse):
    signed_in(nurse)
    page = client.get(reverse("second-factor")).content.decode()

    assert 'src="data:image/svg+xml' in page
    assert "".join(f"<span>{four}</span> " for four in groups(client.session["new_second_factor"])) in page


def groups(secret):
    return [secret[at : at + 4] for at in range(0, len(secret), 4)]


@pytest.mark.parametrize("name", ["second-factor-off", "recovery-codes"])
@pytest.mark.parametrize(("code", "changes"), [(None, False), ("000000", False), ("right", True)])
def test_turning_off_and_new_codes_ask_for_a_code(client, signed_in, nurse, name, code, changes):
    before = enrol(nurse)
    signed_in(nurse)

    client.post(reverse(name), {"password": PASSWORD, "second_factor": code_at() if code == "right" else code or ""})

    assert second_factor.spend(nurse, before[0]) is not changes


# Required of members


@pytest.fixture
def required(cast):
    cast.north.organisation.second_factor_required = True
    cast.north.organisation.save()
    return cast


@pytest.mark.parametrize("name", ["families", "board", "members", "programmes", "bedside-token"])
def test_a_member_without_one_is_led_to_set_it_up(required, client, signed_in, name):
    signed_in(required.north.administrator)

    assert client.get(reverse(name)).url == reverse("second-factor")


def test_a_member_with_one_goes_on(required, client, signed_in, nurse):
    enrol(nurse)
    signed_in(nurse)

    assert client.get(reverse("families")).status_code == 200


def test_another_organisation_is_not_asked(required, client, signed_in):
    signed_in(required.south.educator)

    assert client.get(reverse("families")).status_code == 200


def test_a_caregiver_is_never_made_to(required, client, signed_in):
    mother = required.north.mother
    mother.user = required.stranger
    mother.save()
    signed_in(required.stranger)

    assert client.get(reverse("mine"), follow=True).status_code == 200


def test_an_administrator_asks_it_of_all(cast, client, signed_in):
    with_password(cast.north.administrator.user)
    signed_in(cast.north.administrator)
    client.post(reverse("second-factor-required"), {"required": "on", "password": PASSWORD})

    assert client.get(reverse("families")).url == reverse("second-factor")


def test_an_educator_does_not(cast, client, signed_in):
    signed_in(cast.north.educator)

    assert client.get(reverse("second-factor-required")).status_code == 403
