"""Fixtures that every test may use: the standing cast, a stopped clock, people signed in."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterator
from typing import Any

import hypothesis
import pytest
import time_machine
from django.db import connection
from django.test import Client, override_settings

from tests.cast import NOW, Cast, find_cast, make_cast
from tests.training.tenancy import site_role
from training.people.models import Member, Organisation, User

# A slow or busy machine is no reason to fail: no deadlines, and no complaint that drawing took long.
hypothesis.settings.register_profile("patient", deadline=None, suppress_health_check=[hypothesis.HealthCheck.too_slow])
hypothesis.settings.load_profile("patient")


def pytest_collection_finish() -> None:
    """What was collected stays to the end: looking through it again and again for garbage took a twentieth of the time."""
    gc.collect()
    gc.freeze()


QUICK = ["django.contrib.auth.hashers.MD5PasswordHasher"]


@pytest.fixture(autouse=True)
def _quick_passwords(settings: Any) -> None:
    """Hashing is slow on purpose; tests of pages need no such proof."""
    settings.PASSWORD_HASHERS = QUICK
    settings.STORAGES = {
        **settings.STORAGES,
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }


@pytest.fixture(autouse=site_role.EVERY_REQUEST)
def _asked_as_site(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """With SITE_ROLE=1 on PostgreSQL each request of a client is that of the role that owns nothing."""
    if connection.vendor == "postgresql" and "db" in request.fixturenames:
        site_role.every_request_as_site(monkeypatch)


@pytest.fixture
def now() -> Iterator[None]:
    """The clock stands at `tests.cast.NOW`, 14 May 2026, 10:00 in Oslo."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup: None, django_db_blocker: Any) -> Iterator[None]:
    """The cast is made once; each test works on it and is rolled back."""
    with django_db_blocker.unblock(), override_settings(PASSWORD_HASHERS=QUICK):
        make_cast()
        if connection.vendor == "postgresql":
            site_role.make_role()
    yield
    if connection.vendor == "postgresql":
        with django_db_blocker.unblock():
            site_role.drop_role()


@pytest.fixture
def committed(django_db_setup: None, django_db_blocker: Any) -> None:
    """The cast, committed again where a test that flushes took it away: ask for it before the test's own transaction."""
    with django_db_blocker.unblock(), override_settings(PASSWORD_HASHERS=QUICK):
        if not Organisation.objects.exists():
            make_cast()


@pytest.fixture
def cast(committed: None, db: None, now: None) -> Cast:
    return find_cast() or make_cast()


@pytest.fixture
def signed_in(client: Client) -> Callable[[Member | User], Client]:
    """A client signed in as a member or user."""

    def sign_in(who: Member | User) -> Client:
        client.force_login(who.user if isinstance(who, Member) else who)
        return client

    return sign_in


@pytest.fixture
def guards_lifted(transactional_db: None) -> Iterator[None]:
    """For tests that flush: the triggers are lifted after the test, so that the flush can empty the table."""
    from training.records import guards

    guards.install(connection)
    yield
    guards.lift(connection)
