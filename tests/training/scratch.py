"""A database of its own for a test, with the cast in it: what is done to it is done to a real file, or a real server."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.db import connection, connections
from django.utils import timezone

from training.exchange.backups.contents import another
from training.exchange.backups.making import make_backup
from training.exchange.backups.restoring import restore_backup


def back_up_cast(to: Path) -> Path:
    make_backup(connection, to, at=timezone.now())
    return to


@contextmanager
def database_of_its_own(backup: Path, folder: Path) -> Iterator[Any]:
    """Restored from a backup where nothing was before; gone afterwards, with what a restore kept of it."""
    name = f"register_scratch_{uuid.uuid4().hex[:12]}"
    site = another(connection, name if connection.vendor == "postgresql" else str(folder / f"{name}.sqlite3"))
    restore_backup(site, backup, at=timezone.now())
    try:
        yield site
    finally:
        site.close()
        if connection.vendor == "postgresql":
            drop_databases(name)


def drop_databases(beginning: str) -> None:
    with closing(another(connection, "postgres")) as maintenance, maintenance.cursor() as cursor:
        cursor.execute("SELECT datname FROM pg_database WHERE starts_with(datname, %s)", [beginning])
        for (name,) in cursor.fetchall():
            cursor.execute(f'DROP DATABASE "{name}"')


@contextmanager
def in_place_of_the_site(site: Any) -> Iterator[None]:
    """Commands and models work on this database instead of the tests' own."""
    there = connections["default"]
    connections["default"] = site
    try:
        yield
    finally:
        connections["default"] = there
