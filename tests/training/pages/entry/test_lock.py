"""Who guesses is stopped, by a count in the database; nobody else is."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from axes.models import AccessAttempt
from django.test import Client
from django.urls import reverse

from tests.cast import NOW
from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import code_at, enrol, is_signed_in, sign_in
from training.pages.entry.lock import address_of

WRONG = "not the password"


def guess(client, name, times, **more):
    for _n in range(times):
        answer = sign_in(client, name, WRONG, **more)
    return answer


def test_four_wrong_passwords_lock_nothing(client, nurse):
    guess(client, nurse.username, 4)

    sign_in(client, nurse.username)

    assert is_signed_in(client)


def test_the_fifth_wrong_password_is_told_to_wait(client, nurse):
    assert guess(client, nurse.username, 5).status_code == 429


def test_the_page_says_how_long_and_who_helps(client, nurse):
    answer = guess(client, nurse.username, 5)

    assert "Try again in 15 minutes." in answer.content.decode()
    assert "an administrator of your organisation lifts the lock" in answer.content.decode()
    assert answer["Retry-After"] == "900"


def test_the_right_password_does_not_open_a_lock(client, nurse):
    guess(client, nurse.username, 5)

    assert sign_in(client, nurse.username).status_code == 429
    assert not is_signed_in(client)


def test_another_case_of_the_name_is_the_same_account(client, nurse):
    guess(client, nurse.username, 3)
    guess(client, nurse.username.upper(), 2)

    assert sign_in(client, nurse.username).status_code == 429


@pytest.mark.parametrize(("minutes", "opens"), [(14, False), (15, False), (15.1, True)])
def test_a_lock_lasts_a_quarter_of_an_hour(client, nurse, minutes, opens):
    guess(client, nurse.username, 5)

    with time_machine.travel(NOW + timedelta(minutes=minutes), tick=False):
        sign_in(client, nurse.username)

        assert is_signed_in(client) is opens


def test_trying_while_locked_does_not_lengthen_it(client, nurse):
    guess(client, nurse.username, 5)
    with time_machine.travel(NOW + timedelta(minutes=14), tick=False):
        guess(client, nurse.username, 3)

    with time_machine.travel(NOW + timedelta(minutes=15.1), tick=False):
        sign_in(client, nurse.username)

        assert is_signed_in(client)


def test_the_count_is_of_the_database_not_of_one_process(nurse):
    for _n in range(5):
        guess(Client(), nurse.username, 1)

    assert sign_in(Client(), nurse.username).status_code == 429


def test_a_lock_holds_at_one_address_only(client, nurse):
    guess(client, nurse.username, 5, REMOTE_ADDR="192.0.2.7")

    sign_in(client, nurse.username, REMOTE_ADDR="192.0.2.8")

    assert is_signed_in(client)


def test_a_locked_account_does_not_lock_its_ward(client, cast, nurse):
    guess(client, nurse.username, 20)
    other = cast.north.supervisor.user
    other.set_password(PASSWORD)
    other.save()

    sign_in(client, other.username)

    assert is_signed_in(client)


def test_fifty_wrong_ones_lock_the_address(client, nurse):
    for n in range(50):
        sign_in(client, f"guess{n}", WRONG)

    assert sign_in(client, nurse.username).status_code == 429


def test_an_unknown_name_is_locked_and_answered_as_a_known_one(client, nurse):
    known = [sign_in(client, nurse.username, WRONG) for _n in range(6)]
    unknown = [sign_in(client, "nobody-of-this-name", WRONG) for _n in range(6)]

    assert [a.status_code for a in known] == [a.status_code for a in unknown] == [200] * 4 + [429] * 2
    assert bare(known[0], nurse.username) == bare(unknown[0], "nobody-of-this-name")


def bare(answer, name):
    text = answer.content.decode().replace(name, "NAME")
    return [line for line in text.splitlines() if "csrfmiddlewaretoken" not in line]


def test_a_closed_account_is_answered_as_an_unknown_one(client, nurse):
    nurse.is_active = False
    nurse.save()

    closed, unknown = sign_in(client, nurse.username), sign_in(client, "nobody-of-this-name")

    assert bare(closed, nurse.username) == bare(unknown, "nobody-of-this-name")


def test_a_name_that_is_not_there_costs_a_hashing_too(client, nurse, settings, monkeypatch):
    from django.contrib.auth.hashers import MD5PasswordHasher

    hashed = []
    encode = MD5PasswordHasher.encode
    monkeypatch.setattr(MD5PasswordHasher, "encode", lambda *a, **k: hashed.append(1) or encode(*a, **k))

    sign_in(client, "nobody-of-this-name", WRONG)
    unknown = len(hashed)
    sign_in(client, nurse.username, WRONG)

    assert unknown == len(hashed) - unknown == 1


def test_nothing_typed_is_kept_with_the_count(client, nurse):
    client.post(
        reverse("sign-in") + "?next=/families/", {"username": nurse.username, "password": WRONG, "note": "Ilse"}
    )

    row = AccessAttempt.objects.values().get()
    kept = " ".join(str(value) for value in row.values())
    assert not [word for word in (nurse.username, WRONG, "Ilse", "families") if word in kept]


def test_nothing_of_it_reaches_the_log(client, nurse, caplog):
    guess(client, nurse.username, 6)

    assert nurse.username not in caplog.text
    assert "127.0.0.1" not in caplog.text


def test_signing_in_forgets_what_was_wrong_before(client, nurse):
    guess(client, nurse.username, 4)
    sign_in(client, nurse.username)
    client.post(reverse("sign-out"))
    guess(client, nurse.username, 4)

    sign_in(client, nurse.username)

    assert is_signed_in(client)


def test_wrong_codes_are_counted_with_wrong_passwords(client, nurse):
    enrol(nurse)
    guess(client, nurse.username, 2)
    sign_in(client, nurse.username)
    for _n in range(3):
        client.post(reverse("sign-in-code"), {"second_factor": "000000"})

    assert client.post(reverse("sign-in-code"), {"second_factor": code_at()}).status_code == 429


def test_the_right_password_does_not_wipe_out_wrong_codes(client, nurse):
    enrol(nurse)
    for _n in range(5):
        sign_in(client, nurse.username)
        client.post(reverse("sign-in-code"), {"second_factor": "000000"})

    assert sign_in(client, nurse.username).status_code == 429


def test_wrong_passwords_at_the_bedside_lock_are_counted(client, signed_in, nurse):
    signed_in(nurse)
    answers = [client.post(reverse("bedside-unlock"), {"password": WRONG}).status_code for _n in range(5)]

    assert answers == [403] * 4 + [429]
    assert client.post(reverse("bedside-unlock"), {"password": PASSWORD}).status_code == 429


ADDRESSES = [
    ({"REMOTE_ADDR": "192.0.2.7"}, "", "192.0.2.7"),
    ({"REMOTE_ADDR": "192.0.2.7", "HTTP_X_FORWARDED_FOR": "203.0.113.9"}, "", "192.0.2.7"),  # anybody can send one
    ({"REMOTE_ADDR": "192.0.2.7", "HTTP_X_FORWARDED_FOR": "203.0.113.9"}, "X-Forwarded-For", "203.0.113.9"),
    ({"REMOTE_ADDR": "192.0.2.7", "HTTP_X_FORWARDED_FOR": "1.2.3.4, 203.0.113.9"}, "X-Forwarded-For", "203.0.113.9"),
    ({"REMOTE_ADDR": "192.0.2.7", "HTTP_X_FORWARDED_FOR": "no address"}, "X-Forwarded-For", "192.0.2.7"),
    ({"REMOTE_ADDR": "2001:db8:1:2:3:4:5:6"}, "", "2001:db8:1:2::"),
    ({"REMOTE_ADDR": ""}, "", None),  # a socket
]


@pytest.mark.parametrize(("meta", "header", "expected"), ADDRESSES)
def test_where_a_request_comes_from(rf, settings, meta, header, expected):
    settings.CLIENT_ADDRESS_HEADER = header

    assert address_of(rf.get("/", **meta)) == expected
