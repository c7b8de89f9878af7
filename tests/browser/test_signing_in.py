"""Signing in as a browser does it: a passkey, and the warning before a page left alone signs its reader out."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.cast import Cast
from tests.factories import PASSWORD
from tests.training.pages.entry.conftest import code_at, enrol, next_code
from training.pages.entry import passkeys


@pytest.fixture
def key(page: Page) -> Any:
    """A key that says yes to everything, as the browser's own tests have it."""
    devtools = page.context.new_cdp_session(page)
    devtools.send("WebAuthn.enable")
    about = {"protocol": "ctap2", "transport": "internal", "hasUserVerification": True, "isUserVerified": True}
    return devtools.send(
        "WebAuthn.addVirtualAuthenticator",
        {"options": {**about, "hasResidentKey": True, "automaticPresenceSimulation": True}},
    )


@pytest.fixture
def site(live_server: Any) -> str:
    """By its name: a passkey belongs to a name, never to a number."""
    return live_server.url.replace("127.0.0.1", "localhost")


def give_password(page: Page, site: str, username: str) -> None:
    page.goto(f"{site}/sign-in/")
    page.get_by_label("User name or e-mail").fill(username)
    page.get_by_label("Password", exact=True).fill(PASSWORD)
    page.get_by_role("button", name="Sign in").click()


def test_a_passkey_is_added_and_stands_in_for_the_code(live_cast: Cast, page: Page, key: Any, site: str) -> None:
    nurse = live_cast.north.educator.user
    enrol(nurse)
    give_password(page, site, nurse.username)
    page.get_by_label("Code from your app").fill(code_at())
    page.get_by_role("button", name="Sign in").click()
    page.get_by_role("link", name="Your account").click()
    page.get_by_role("link", name="Add a passkey").click()
    page.get_by_label("What to call it").fill("My phone")
    page.get_by_label("Your password").fill(PASSWORD)
    page.get_by_label("Code from your app").fill(next_code())
    page.get_by_role("button", name="Go on").click()
    page.get_by_role("button", name="Make the passkey").click()
    expect(page.get_by_text("The passkey is added.")).to_be_visible()
    assert [one.data["name"] for one in passkeys.passkeys_of(nurse)] == ["My phone"]

    page.get_by_role("button", name="Sign out", exact=True).first.click()
    page.wait_for_url("**/sign-in/**")
    give_password(page, site, nurse.username)
    page.get_by_role("button", name="Use a passkey").click()

    expect(page).to_have_url(re.compile("/families/"))


def test_a_passkey_of_somebody_else_does_not_fit(live_cast: Cast, page: Page, key: Any, site: str) -> None:
    nurse = live_cast.north.educator.user
    enrol(nurse)
    give_password(page, site, nurse.username)
    page.request.post(f"{site}/sign-in/code/", form={"answer": '{"id": "x"}'}, fail_on_status_code=False)
    page.goto(f"{site}/families/")

    expect(page).to_have_url(re.compile("/sign-in/"))


def test_a_page_left_alone_warns_and_one_may_stay(
    live_cast: Cast, page: Page, sign_in: Any, live_server: Any, settings: Any
) -> None:
    settings.IDLE_MINUTES, settings.IDLE_WARNING_SECONDS = 0.2, 7
    sign_in(live_cast.north.educator)
    page.goto("/programmes/?on=2026-05-01")
    warning = page.get_by_role("dialog", name="Still here?")
    expect(warning).to_be_visible(timeout=12_000)
    expect(warning.get_by_role("timer")).to_have_text(re.compile(r"0:0\d"))

    warning.get_by_role("button", name="Stay signed in").click()
    expect(warning).to_be_hidden()
    expect(warning).to_be_visible(timeout=12_000)

    expect(page).to_have_url(re.compile(r"/sign-in/\?next=%2Fprogrammes%2F%3Fon%3D2026-05-01"), timeout=12_000)
    expect(page.get_by_text("You were signed out")).to_be_visible()
