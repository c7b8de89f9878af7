"""What a site says about its database when it starts: once, in the log, and nothing of what is in it."""

from __future__ import annotations

import logging

from django.db.backends.base.base import BaseDatabaseWrapper

from training.sqlite.base import pragmas, write_ahead_log_is_safe

log = logging.getLogger("training.sqlite")


def log_database(connection: BaseDatabaseWrapper) -> None:
    """Log product and version; for SQLite also the journal mode that is in force, and why. Opens the connection."""
    if connection.vendor != "sqlite":
        with connection.cursor():
            log.info("Database: PostgreSQL %s.", _version(connection))
        return
    mode, synchronous = journal(connection)
    version = connection.Database.sqlite_version_info
    why = "safe" if write_ahead_log_is_safe(version) else "could lose a commit"
    log.info(
        "Database: SQLite %s, journal mode %s, synchronous %s (the write-ahead log of this version: %s).",
        _version(connection), mode, synchronous, why,
    )  # fmt: skip
    wanted = pragmas(version)[0].partition("=")[2].lower()
    if mode != wanted:
        log.warning("SQLite's journal mode is %s and not %s: the file system may not allow it.", mode, wanted)


def journal(connection: BaseDatabaseWrapper) -> tuple[str, int]:
    """SQLite's journal mode and its level of synchronisation, as this connection has them."""
    with connection.cursor() as cursor:
        mode = cursor.execute("PRAGMA journal_mode").fetchone()[0]
        return str(mode), int(cursor.execute("PRAGMA synchronous").fetchone()[0])


def _version(connection: BaseDatabaseWrapper) -> str:
    return ".".join(str(part) for part in connection.get_database_version())
