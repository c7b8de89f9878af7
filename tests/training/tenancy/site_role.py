"""Requests as the site's own role: a real second role of PostgreSQL, which owns nothing.

``with as_site_role(): client.get(...)`` asks on the tests' own connection, so what a test has made is there; PostgreSQL
judges rights and policies by the role in force, whoever logged in. `SITE_ROLE=1 pytest tests/training/pages` runs each
request of any test that way (`tests/conftest.py`).
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from typing import Any

import psycopg
import pytest
from django.db import Error, connection
from django.test import Client

from training.tenancy import roles

on_postgres = pytest.mark.skipif(
    connection.vendor != "postgresql",
    reason="PostgreSQL only: SQLite has neither roles nor row-level security. Set DATABASE_URL to try this.",
)
EVERY_REQUEST = os.environ.get("SITE_ROLE") == "1"


def role_name() -> str:
    """One for each test database, since roles belong to the whole server."""
    return f"site_{connection.settings_dict['NAME']}"[:63]


def make_role() -> str:
    """The role, made by the owner as `manage.py database_roles --create` makes it; harmless when it is there."""
    role = role_name()
    if not roles.is_there(connection, role):
        with connection.cursor() as cursor:
            cursor.execute(roles.creating(connection, role, "for-tests-only"))
    roles.grant(connection, role)
    return role


def drop_role() -> None:
    """Roles outlive a test database."""
    quoted = connection.ops.quote_name(role_name())
    with connection.cursor() as cursor, suppress(Error):
        cursor.execute(f"DROP OWNED BY {quoted}")
        cursor.execute(f"DROP ROLE {quoted}")


@contextmanager
def as_site_role() -> Iterator[None]:
    """Everything asked of the database in here is asked as the site's role. Changing it is none of a test's queries."""
    quoted = connection.ops.quote_name(role_name())
    connection.ensure_connection()
    connection.connection.execute(f"SET ROLE {quoted}")
    try:
        yield
    finally:
        with suppress(psycopg.Error):  # a transaction that failed takes the role back itself
            connection.connection.execute("RESET ROLE")


def every_request_as_site(monkeypatch: pytest.MonkeyPatch) -> None:
    """The tests' clients ask as the site's role from here on."""
    asked: Callable[..., Any] = Client.request

    def ask(self: Client, **request: Any) -> Any:
        with as_site_role():
            return asked(self, **request)

    monkeypatch.setattr(Client, "request", ask)


def ask_as_nobody() -> None:
    """As after a request: a test is one transaction, in which the last word who asks would last."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT set_config('register.organisation', '', true), set_config('register.account', '', true)")
