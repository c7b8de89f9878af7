"""A real browser on a real server. Skipped, loudly, where there is no chromium; in CI that is a failure."""

from __future__ import annotations

import os
import shutil
import uuid
import warnings
from collections.abc import Callable, Iterator
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone
from playwright.sync_api import Browser, Page, sync_playwright

from tests.cast import Cast, find_cast, make_cast
from tests.factories import PASSWORD
from training.people.models import Caregiver, Member, User

FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if "tests/browser/" in str(item.path):
            item.add_marker("browser")
            item.add_marker(pytest.mark.usefixtures("guards_lifted"))


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if CHROMIUM is None:
        if os.environ.get("CI"):
            pytest.fail("CI has no chromium: the browser's tests must run here (see .ci/run)")
        warnings.warn(pytest.PytestWarning("NO CHROMIUM: the browser's tests were skipped"), stacklevel=1)
        pytest.skip("no chromium on this machine: apt-get install chromium")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"  # playwright keeps an event loop in this thread
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def live_cast(guards_lifted: None) -> Cast:
    """The cast in the server's database; its people's passwords are known."""
    cast = find_cast() or make_cast()
    for user in User.objects.all():
        user.set_password(PASSWORD)
        user.save(update_fields=["password"])
    return cast


@pytest.fixture
def page(browser: Browser, live_server: Any) -> Iterator[Page]:
    """A page of a browser that knows nobody yet. A script error or a refused resource fails the test."""
    context = browser.new_context(
        base_url=live_server.url,
        viewport={"width": 390, "height": 844},
        locale="en-GB",
        reduced_motion="reduce",  # so that no colour is measured half way to another
    )
    page = context.new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.on("console", lambda message: troubles.append(message.text) if message.type == "error" else None)
    yield page
    context.close()
    assert [t for t in troubles if "status of 4" not in t] == []


@pytest.fixture
def sign_in(page: Page) -> Callable[[Member | User], None]:
    def enter(who: Member | User) -> None:
        user = who.user if isinstance(who, Member) else who
        page.context.clear_cookies()
        page.goto("/sign-in/")
        page.fill("input[name=username]", user.username)
        page.fill("input[name=password]", PASSWORD)
        page.click("main button[type=submit]")
        page.wait_for_url(lambda url: "sign-in" not in url)

    return enter


@pytest.fixture
def account() -> Callable[[Caregiver], User]:
    """An account for a caregiver."""

    def give(caregiver: Caregiver) -> User:
        user = User.objects.create_user(f"caregiver-{uuid.uuid4().hex[:8]}", PASSWORD, full_name=caregiver.full_name)
        caregiver.user = user
        caregiver.save(update_fields=["user"])
        return user

    return give


@pytest.fixture
def days_ago(live_cast: Cast) -> Callable[[int], Any]:
    """A day before the family's today."""
    today = live_cast.north.family.today(timezone.now())
    return lambda n: today - timedelta(days=n)
