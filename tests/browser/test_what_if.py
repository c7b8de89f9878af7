"""What if this person is out, in a browser: one tap asks, one tap goes back; with no script running too."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.browser.looking import width_of
from tests.cast import sign_off_suction
from tests.factories import PASSWORD
from training.records.models import Record


@pytest.fixture
def family_page(live_cast, days_ago):
    home = live_cast.north
    sign_off_suction(home, home.mother, days_ago(5))
    return home, reverse("family", args=[home.family.public_id])


def ask_and_go_back(page, home, address):
    page.goto(address)
    before = Record.objects.count()
    page.click(f"#what-if a:has-text('Without {home.mother.called}')")
    answer = page.inner_text("#what-if")
    page.click("#what-if a:has-text('Back to how it is')")
    assert Record.objects.count() == before
    assert "A question only" not in page.inner_text("#what-if")
    return answer


def test_one_tap_asks_and_one_goes_back(family_page, page, sign_in):
    home, address = family_page
    sign_in(home.supervisor)
    answer = ask_and_go_back(page, home, address)

    assert "A question only. Nothing is recorded" in answer
    assert home.mother.full_name in answer
    assert f"{home.father.called}, for Full care" in answer
    assert width_of(page) <= 390


def test_it_works_without_a_script(family_page, browser, live_server):
    home, address = family_page
    context = browser.new_context(base_url=live_server.url, java_script_enabled=False)
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=username]", home.educator.user.username)
    page.fill("input[name=password]", PASSWORD)
    page.click("main button[type=submit]")
    answer = ask_and_go_back(page, home, address)
    context.close()

    assert "A question only" in answer


def test_it_is_printed_only_when_asked(family_page, page, sign_in):
    home, address = family_page
    sign_in(home.supervisor)
    page.goto(address)
    page.emulate_media(media="print")
    unasked = page.is_visible("#what-if-head")
    page.emulate_media(media="screen")
    page.click(f"#what-if a:has-text('Without {home.mother.called}')")
    page.emulate_media(media="print")

    assert (unasked, page.is_visible("#what-if-head")) == (False, True)


def test_a_long_unbroken_name_stays_inside_a_phone(live_cast, page, sign_in):
    home = live_cast.north
    home.family.patient_called, home.family.name = "X" * 60, "W" * 190
    home.family.save()
    sign_in(home.supervisor)
    for address in ("family", "care-plan-new", "hold-new"):
        page.goto(reverse(address, args=[home.family.public_id]))
        assert width_of(page) <= 390, address
