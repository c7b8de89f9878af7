"""How long a session lasts, and what ends it at once."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from tests.cast import NOW
from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import enrol, is_signed_in, sign_in
from tests.training.pages.recording.conftest import bedside  # noqa: F401  the same fixture


def later(**much):
    return time_machine.travel(NOW + timedelta(**much), tick=False)


@pytest.fixture
def here(client, nurse):
    """A member on the families' page."""
    sign_in(client, nurse.username)
    client.get(reverse("families"))
    return client


@pytest.mark.parametrize(("minutes", "stays"), [(14.9, True), (15, False), (600, False)])
def test_a_member_left_alone_is_signed_out(here, minutes, stays):
    with later(minutes=minutes):
        assert (here.get(reverse("families")).status_code == 200) is stays


def test_the_time_can_be_set(here, settings):
    settings.IDLE_MINUTES = 5
    with later(minutes=5):
        assert not is_signed_in(here)


def test_each_page_begins_it_anew(here):
    for minutes in (14, 28, 42):
        with later(minutes=minutes):
            assert here.get(reverse("families")).status_code == 200


def test_after_signing_in_again_one_is_where_one_was(here, nurse):
    with later(minutes=20):
        sent_to = here.get(reverse("programmes") + "?on=2026-05-01").url
        assert "You were signed out" in here.get(sent_to).content.decode()
        answer = here.post(sent_to, {"username": nurse.username, "password": PASSWORD})

    assert answer.url == reverse("programmes") + "?on=2026-05-01"


def test_a_post_that_came_too_late_leads_back_to_its_page(here):
    page = "http://testserver" + reverse("families")
    with later(minutes=20):
        answer = here.post(reverse("place"), {"place": "x"}, headers={"referer": page})

    assert answer.url == reverse("sign-in") + "?next=%2Ffamilies%2F&over=yes"


def test_another_sites_page_is_no_way_back(here):
    with later(minutes=20):
        answer = here.post(reverse("place"), headers={"referer": "https://example.org/x"})

    assert answer.url == reverse("sign-in") + "?next=%2F&over=yes"


def test_a_draft_outlives_the_session(bedside):  # noqa: F811
    bedside.all_alone()
    with later(minutes=20):
        assert bedside.client.get(bedside.url("draft-sign")).status_code == 302
        sign_in(bedside.client, bedside.home.educator.user.username)
        assert bedside.client.get(bedside.url("draft-sign")).status_code == 200


@pytest.mark.parametrize(("hours", "stays"), [(11.9, True), (12, False)])
def test_twelve_hours_are_the_most_however_busy(here, settings, hours, stays):
    settings.IDLE_MINUTES = 10_000
    with later(hours=6):
        here.get(reverse("families"))
    with later(hours=hours):
        assert is_signed_in(here) is stays


def test_asking_how_long_is_left_is_no_touch(here):
    with later(minutes=10):
        assert here.get(reverse("stay-signed-in")).json() == {"left": 300}
    with later(minutes=14):
        assert here.get(reverse("stay-signed-in")).json() == {"left": 60}
    with later(minutes=15):
        assert here.get(reverse("stay-signed-in")).json() == {"left": 0}
        assert not is_signed_in(here)


def test_staying_is(here):
    with later(minutes=14):
        assert here.post(reverse("stay-signed-in")).json() == {"left": 900}
    with later(minutes=28):
        assert is_signed_in(here)


def test_nobody_stays_who_was_left_alone_too_long(here):
    with later(minutes=15):
        here.post(reverse("stay-signed-in"))

        assert not is_signed_in(here)


def test_a_visitor_has_nothing_left(client, db):
    assert client.get(reverse("stay-signed-in")).json() == {"left": 0}


def test_the_page_of_a_member_warns(here):
    page = here.get(reverse("families")).content.decode()

    assert 'id="idle"' in page
    assert 'data-seconds="900"' in page


@pytest.mark.parametrize(("minutes", "still_in"), [(29, True), (31, False)])
def test_a_caregiver_has_half_an_hour_and_no_dialog(cast, client, signed_in, minutes, still_in):
    mother = cast.north.mother
    mother.user = cast.stranger
    mother.save()
    signed_in(cast.stranger)
    page = client.get(reverse("mine"), follow=True).content.decode()

    assert 'id="idle"' not in page
    with later(minutes=minutes):
        assert is_signed_in(client) is still_in


# The bedside covers itself, and its session waits for it


def test_the_bedsides_own_questions_keep_nobody_signed_in(here):
    with later(minutes=10):
        assert here.get(reverse("bedside-token")).status_code == 200
    with later(minutes=16):
        assert not is_signed_in(here)


def test_a_touch_at_the_bedside_does(here):
    with later(minutes=10):
        here.get(reverse("bedside-token") + "?here=yes")
    with later(minutes=20):
        assert is_signed_in(here)


def test_the_bedside_left_alone_can_still_be_unlocked(here):
    with later(minutes=40):
        assert here.get(reverse("bedside-token")).status_code == 200
        assert here.post(reverse("bedside-unlock"), {"password": PASSWORD}).status_code == 204
        assert here.get(reverse("families")).status_code == 200


def test_the_bedside_left_alone_opens_no_other_page_by_a_touch(here):
    with later(minutes=40):
        here.get(reverse("bedside-token") + "?here=yes")

        assert here.get(reverse("families")).status_code == 302


def test_the_bedside_too_ends_after_twelve_hours(here):
    with later(hours=12):
        assert here.get(reverse("bedside-token")).status_code == 302


# Ended at once


@pytest.fixture
def elsewhere(nurse):
    other = Client()
    other.force_login(nurse)
    assert is_signed_in(other)
    return other


def test_sign_out_everywhere_ends_every_session(here, elsewhere):
    here.post(reverse("sign-out-everywhere"))

    assert not is_signed_in(here)
    assert not is_signed_in(elsewhere)


def test_others_stay(cast, here):
    other = Client()
    other.force_login(cast.north.supervisor.user)
    here.post(reverse("sign-out-everywhere"))

    assert is_signed_in(other)


NEW = {"password": PASSWORD, "new_password": "seven brown bears", "new_password_again": "seven brown bears"}


def test_a_new_password_ends_the_other_sessions(here, elsewhere):
    here.post(reverse("account-password"), NEW)

    assert is_signed_in(here)
    assert not is_signed_in(elsewhere)


@pytest.mark.parametrize(
    "wrong",
    [
        {"password": "not the password"},
        {"new_password_again": "eight brown bears"},
        {"new_password": "short", "new_password_again": "short"},
        {"new_password": "password123", "new_password_again": "password123"},
    ],
)
def test_a_password_is_not_changed_by_a_wrong_form(here, nurse, wrong):
    here.post(reverse("account-password"), {**NEW, **wrong})

    nurse.refresh_from_db()
    assert nurse.check_password(PASSWORD)


def test_a_new_password_asks_for_the_code(here, nurse):
    enrol(nurse)
    here.post(reverse("account-password"), NEW)

    nurse.refresh_from_db()
    assert nurse.check_password(PASSWORD)


@pytest.mark.parametrize("name", ["families", "account", "bedside-token", "stay-signed-in"])
def test_a_closed_account_stops_at_its_next_request(here, nurse, name):
    nurse.is_active = False
    nurse.save()

    answer = here.get(reverse(name))

    assert answer.status_code == 302 or answer.json() == {"left": 0}
    assert "_auth_user_id" not in here.session or not is_signed_in(here)


def test_no_address_of_the_libraries_is_reachable(client, db):
    for address in ("/accounts/", "/accounts/login/", "/accounts/signup/", "/accounts/2fa/", "/admin/", "/axes/"):
        assert client.get(address).status_code == 404


def test_answers_about_the_account_are_not_kept(here):
    for name in ("account", "second-factor", "account-password", "stay-signed-in"):
        assert here.get(reverse(name))["Cache-Control"] == "private, no-store"


@pytest.mark.parametrize("name", ["new_password", "new_password_again", "one_time_code", "second_factor", "password"])
def test_a_page_open_too_long_repeats_no_secret(name):
    from training.pages.errors import NEVER_REPEATED

    assert NEVER_REPEATED.search(name)
