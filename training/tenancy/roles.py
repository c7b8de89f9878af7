"""Two roles on PostgreSQL: the owner, who migrates and runs commands, and the site's, which owns nothing."""

from __future__ import annotations

import os
from collections.abc import Iterator

from django.apps import apps
from django.conf import settings
from django.db import connections
from django.db.backends.base.base import BaseDatabaseWrapper

from training import environment
from training.tenancy import policies
from training.tenancy.models_listed import APPEND_ONLY, NEVER_DELETED, ONLY_READ
from training.tenancy.policies import table_of

_ALL = ("SELECT", "INSERT", "UPDATE", "DELETE")
_MIGRATIONS = "django_migrations"


def site_role() -> str:
    """The user of DATABASE_URL where the owner has a URL of their own; empty where there is one role for both."""
    return str(settings.SITE_ROLE)


def become_the_site() -> None:
    """From here on this process, an owner's command so far, logs in as the site; nothing where there is one role."""
    if not settings.AS_OWNER:
        return
    settings.AS_OWNER = False
    site = environment.database(os.environ["DATABASE_URL"], folder=settings.BASE_DIR)
    connections["default"].close()
    connections.settings["default"].update({part: site[part] for part in ("USER", "PASSWORD")})
    connections["default"].settings_dict.update({part: site[part] for part in ("USER", "PASSWORD")})


def grants() -> dict[str, tuple[str, ...]]:
    """What the site's role may do to each table's rows: all, but for the lists of `models_listed`."""
    fewer = dict.fromkeys((table_of(label) for label in ONLY_READ), _ALL[:1])
    fewer |= dict.fromkeys((table_of(label) for label in APPEND_ONLY), _ALL[:2])
    fewer |= dict.fromkeys((table_of(label) for label in NEVER_DELETED), _ALL[:3])
    tables = [m._meta.db_table for m in apps.get_models(include_auto_created=True) if m._meta.managed]
    return {_MIGRATIONS: _ALL[:1], **{table: fewer.get(table, _ALL) for table in tables}}


def grant_to_site(connection: BaseDatabaseWrapper) -> None:
    """Give the site's role its rights on the tables that are there, and take away any other. Nothing without a role."""
    role = site_role()
    if role and _attributes(connection, role) is not None:
        grant(connection, role)


def put_in_place(connection: BaseDatabaseWrapper) -> None:
    """The policies, and the site's rights: after a migration, and in a database that was restored."""
    if connection.vendor == "postgresql":
        policies.install(connection)
        grant_to_site(connection)


def grant(connection: BaseDatabaseWrapper, role: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute("; ".join(granting(connection, role)))  # one message: all or nothing


def granting(connection: BaseDatabaseWrapper, role: str) -> Iterator[str]:
    """The statements. A table of no model, such as one left by an older version, is not the site's to see."""
    quote = connection.ops.quote_name
    with connection.cursor() as cursor:
        cursor.execute("SELECT current_schema(), current_database()")
        schema, database = (quote(name) for name in cursor.fetchone())
        there = set(connection.introspection.table_names(cursor))
    to = quote(role)
    yield f"GRANT CONNECT ON DATABASE {database} TO {to}"
    yield f"GRANT USAGE ON SCHEMA {schema} TO {to}"
    yield f"REVOKE ALL ON ALL TABLES IN SCHEMA {schema} FROM {to}"
    for table, verbs in sorted(grants().items()):
        if table in there:
            yield f"GRANT {', '.join(verbs)} ON {quote(table)} TO {to}"
    yield f"GRANT USAGE, SELECT ON ALL SEQUENCES IN SCHEMA {schema} TO {to}"


def creating(connection: BaseDatabaseWrapper, role: str, password: str) -> str:
    """The statement that makes the site's role."""
    quoted = connection.ops.quote_name(role)
    secret = password.replace("'", "''")
    return (
        f"CREATE ROLE {quoted} LOGIN NOSUPERUSER NOBYPASSRLS NOCREATEDB NOCREATEROLE NOREPLICATION PASSWORD '{secret}'"
    )


def _attributes(connection: BaseDatabaseWrapper, role: str) -> tuple[bool, bool] | None:
    with connection.cursor() as cursor:
        cursor.execute("SELECT rolsuper, rolbypassrls FROM pg_roles WHERE rolname = %s", [role])
        found: tuple[bool, bool] | None = cursor.fetchone()
    return found


def is_there(connection: BaseDatabaseWrapper, role: str) -> bool:
    return _attributes(connection, role) is not None


def too_much(connection: BaseDatabaseWrapper, role: str) -> list[str]:
    """What this role is or may do, and a site's must not: each would open the second fence or the record."""
    found = _attributes(connection, role)
    if found is None:
        return [f"there is no role {role}"]
    is_super, bypasses = found
    said = ["it is a superuser"] if is_super else []
    said += ["it bypasses row-level security"] if bypasses else []
    return [*said, *_owned(connection, role), *_allowed(connection, role)]


def _owned(connection: BaseDatabaseWrapper, role: str) -> list[str]:
    """Tables the role owns, itself or as a member of the role that does."""
    with connection.cursor() as cursor:
        cursor.execute(
            "SELECT relname FROM pg_class WHERE relnamespace = current_schema()::regnamespace "
            "AND relkind IN ('r', 'p', 'v', 'm') AND pg_has_role(%s, relowner, 'MEMBER') ORDER BY relname",
            [role],
        )
        names = [name for (name,) in cursor.fetchall()]
    return [f"it owns {len(names)} tables, {names[0]} among them"] if names else []


def _allowed(connection: BaseDatabaseWrapper, role: str) -> Iterator[str]:
    """What it may do to append-only tables besides reading and adding."""
    for label in sorted(APPEND_ONLY):
        with connection.cursor() as cursor:
            cursor.execute(
                "SELECT verb FROM unnest(ARRAY['UPDATE', 'DELETE', 'TRUNCATE', 'TRIGGER']) verb "
                "WHERE has_table_privilege(%(role)s, to_regclass(%(table)s), verb) OR verb = 'UPDATE' "
                "AND has_any_column_privilege(%(role)s, to_regclass(%(table)s), verb)",
                {"role": role, "table": table_of(label)},
            )
            verbs = [verb for (verb,) in cursor.fetchall()]
        yield from (f"it may {verb} {table_of(label)}" for verb in verbs)
