"""The start-up check: a site that is given two roles is not served while its own could get round the fence."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from typing import Any

from django.conf import settings
from django.core.checks import Error
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from training.records import guards
from training.tenancy import policies, roles

log = logging.getLogger("training.tenancy")

ONE_ROLE = (
    "The site logs in to PostgreSQL as the owner of its tables. It works, but the database itself keeps no "
    "organisation from another's rows, and only triggers keep records unchanged. `manage.py database_roles` makes two."
)


def site_role_is_sound(databases: Any = None, **kwargs: Any) -> list[Error]:
    """One error for each thing that is not as it must be. Only asked of the role that serves, never of the owner."""
    errors = []
    for alias in databases or ():
        connection = connections[alias]
        if is_held_by_policies(connection):
            errors += [
                Error(f"The site's role in the database: {said}.", hint=hint, id="tenancy.E001")
                for said, hint in wrong_with(connection)
            ]
    return errors


def is_held_by_policies(connection: BaseDatabaseWrapper) -> bool:
    """Whether this is PostgreSQL and the site is meant to own nothing there.

    It is meant so where the owner has a URL of their own, and where the role in use owns no table: a site may be
    served without being told the owner's password.
    """
    if connection.vendor != "postgresql" or settings.AS_OWNER:
        return False
    if guards.TABLE not in connection.introspection.table_names():
        return False
    return bool(roles.site_role()) or not owns_records(connection)


def owns_records(connection: BaseDatabaseWrapper) -> bool:
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT pg_has_role(current_user, relowner, 'MEMBER') FROM pg_class WHERE oid = to_regclass(%s)",
            [guards.TABLE],
        )
        return bool(cursor.fetchone()[0])


def wrong_with(connection: BaseDatabaseWrapper) -> Iterator[tuple[str, str]]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_user")
        role = cursor.fetchone()[0]
    for said in roles.too_much(connection, role):
        yield f"{role}: {said}", "Run `manage.py database_roles` as the owner and follow it."
    for name in policies.missing(connection):
        yield f"the policy {name} is not in place", "Run `manage.py migrate`, which puts it back."


def warn_of_one_role(connection: BaseDatabaseWrapper) -> None:
    """Said once, at start-up, where the owner of the tables serves the site."""
    if connection.vendor == "postgresql" and not is_held_by_policies(connection):
        log.warning(ONE_ROLE)
