"""PostgreSQL: dumped by pg_dump, restored by pg_restore into a new database, which then takes the old one's name.

The password goes by the environment of the two programs, never on a command line.
"""

from __future__ import annotations

import os
import subprocess
import uuid
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any

from django.db import OperationalError
from django.db.backends.base.base import BaseDatabaseWrapper

from training.exchange.backups.contents import another
from training.exchange.backups.refusing import InUseError, RefusedRestoreError

_MAINTENANCE = "postgres"
_VARIABLES = {"HOST": "PGHOST", "PORT": "PGPORT", "USER": "PGUSER", "PASSWORD": "PGPASSWORD", "NAME": "PGDATABASE"}


@contextmanager
def one_moment(connection: BaseDatabaseWrapper) -> Iterator[tuple[BaseDatabaseWrapper, str]]:
    """A connection that sees the database as of one moment, and the name under which pg_dump sees the same."""
    with closing(connection.copy()) as reading:
        with reading.cursor() as cursor:
            cursor.execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
            cursor.execute("SELECT pg_export_snapshot()")
            snapshot = cursor.fetchone()[0]
        yield reading, snapshot


def dump(connection: BaseDatabaseWrapper, to: Path, snapshot: str) -> None:
    """Dump that moment, and read the dump through."""
    _run(["pg_dump", "--format=custom", f"--snapshot={snapshot}", f"--file={to}"], connection)
    _run(["pg_restore", f"--file={os.devnull}", str(to)], connection)


def _run(words: list[str], connection: BaseDatabaseWrapper) -> None:
    settings = connection.settings_dict
    asked = {variable: str(settings[key]) for key, variable in _VARIABLES.items() if settings.get(key)}
    try:
        ended = subprocess.run(words, env={**os.environ, **asked}, capture_output=True, text=True, check=False)  # noqa: S603
    except FileNotFoundError as error:
        raise RefusedRestoreError(f"{words[0]} is not installed here; it comes with PostgreSQL's client.") from error
    if ended.returncode != 0:
        raise RefusedRestoreError(f"{words[0]} failed: {ended.stderr.strip()}")


@contextmanager
def filled(connection: BaseDatabaseWrapper, dumped: Path) -> Iterator[BaseDatabaseWrapper]:
    """A new database with the dump in it; dropped at the end unless it got another name."""
    name = f"register_restoring_{uuid.uuid4().hex}"
    with closing(another(connection, _MAINTENANCE)) as maintenance:
        with maintenance.cursor() as cursor:
            cursor.execute(f"CREATE DATABASE {name} TEMPLATE template0{_like(cursor, connection)}")
        try:
            flags = ["--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction"]
            _run(["pg_restore", *flags, f"--dbname={name}", str(dumped)], connection)
            with closing(another(connection, name)) as new:
                yield new
        finally:
            with maintenance.cursor() as cursor:
                cursor.execute(f"DROP DATABASE IF EXISTS {name}")


def _like(cursor: Any, connection: BaseDatabaseWrapper) -> str:
    """The old database's encoding and order of letters, where there is an old one."""
    cursor.execute(
        "SELECT pg_encoding_to_char(encoding), datcollate, datctype FROM pg_database WHERE datname = %s",
        [connection.settings_dict["NAME"]],
    )
    found = cursor.fetchone()
    if not found:
        return " ENCODING 'UTF8'"
    encoding, collate, ctype = (part.replace("'", "''") for part in found)
    return f" ENCODING '{encoding}' LC_COLLATE '{collate}' LC_CTYPE '{ctype}'"


def refuse_in_use(connection: BaseDatabaseWrapper) -> None:
    """Raises InUseError while anybody else is connected; this process's own connection has to be closed first."""
    with closing(another(connection, _MAINTENANCE)) as maintenance, maintenance.cursor() as cursor:
        _refuse_sessions(cursor, connection.settings_dict["NAME"])


def _refuse_sessions(cursor: Any, name: str) -> None:
    cursor.execute(
        "SELECT count(*) FROM pg_stat_activity WHERE datname = %s AND backend_type = 'client backend'", [name]
    )
    sessions = cursor.fetchone()[0]
    if sessions:
        raise InUseError(f"{sessions} {'session is' if sessions == 1 else 'sessions are'} connected to it")


def swap_in(new: BaseDatabaseWrapper, target: str, kept: str) -> bool:
    """Give the new database the old one's name; the old one is kept under another. False where there was none.

    Both renamings are one transaction, and PostgreSQL refuses the first while anybody is connected.
    """
    new.close()
    name, quoted = new.settings_dict["NAME"], new.ops.quote_name
    with closing(another(new, _MAINTENANCE)) as maintenance, maintenance.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_database WHERE datname = %s", [target])
        was_there = cursor.fetchone() is not None
        _refuse_sessions(cursor, target)
        try:
            cursor.execute("BEGIN")
            if was_there:
                cursor.execute(f"ALTER DATABASE {quoted(target)} RENAME TO {quoted(kept)}")
            cursor.execute(f"ALTER DATABASE {quoted(name)} RENAME TO {quoted(target)}")
            cursor.execute("COMMIT")
        except OperationalError as error:
            raise InUseError(str(error)) from error
    return was_there
