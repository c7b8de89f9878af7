"""What a database holds: its migrations, and its chains read through."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field

from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.loader import MigrationLoader

from competency.chain_reading import Entry
from training.records import guards
from training.records.stored import check_chains, stored

_MIGRATIONS = "django_migrations"


@dataclass(slots=True)
class Contents:
    """heads: a digest over every chain's number of records and head. misfits: the first of each chain."""

    migrations: list[str] = field(default_factory=list)
    chains: int = 0
    records: int = 0
    heads: str = ""
    misfits: list[str] = field(default_factory=list)


def another(connection: BaseDatabaseWrapper, name: str) -> BaseDatabaseWrapper:
    """A connection of its own to another database of the same kind."""
    made = connection.copy()
    made.settings_dict["NAME"] = name
    return made


def contents_of(connection: BaseDatabaseWrapper, step: Callable[[], None] = lambda: None) -> Contents:
    """Read everything through. A database without the table of records has none."""
    tables = set(connection.introspection.table_names())
    found = Contents(migrations=_applied(connection) if _MIGRATIONS in tables else [])
    heads = hashlib.sha256()

    def see(entry: Entry) -> None:
        found.records += 1
        heads.update(f"{entry.chain} {entry.number} {entry.digest}\n".encode())
        step()

    if guards.TABLE in tables:
        for chain, misfit in check_chains(stored(connection), see):
            found.chains += 1
            if misfit:
                found.misfits.append(f"chain {chain.chain}: {misfit}")
    found.heads = heads.hexdigest()
    return found


def _applied(connection: BaseDatabaseWrapper) -> list[str]:
    """By hand: Django's recorder asks the database of its alias, not the one of this connection."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT app, name FROM {_MIGRATIONS}")  # noqa: S608 - a name of ours
        return sorted(f"{app}.{name}" for app, name in cursor.fetchall())


def unknown_migrations(migrations: list[str]) -> list[str]:
    """Those this code does not have: their database is a newer version's."""
    known = {".".join(key) for key in MigrationLoader(None, ignore_no_migrations=True).disk_migrations}
    return [name for name in migrations if name not in known]


def missing_migrations(migrations: list[str]) -> list[str]:
    """Those this code has and the database has not: it is an older version's."""
    known = {".".join(key) for key in MigrationLoader(None, ignore_no_migrations=True).disk_migrations}
    return sorted(known - set(migrations))
