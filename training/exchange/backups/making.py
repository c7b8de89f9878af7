"""Make a backup: one moment of the database in one file, read back before it gets its name."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import asdict
from datetime import datetime
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper

from training.exchange.backups import postgres, sqlite
from training.exchange.backups.archive import DamagedBackupError, Manifest, digest_of_file, read_archive, write_archive
from training.exchange.backups.contents import Contents, another, contents_of
from training.exchange.exporting import refuse_if_there


def make_backup(
    connection: BaseDatabaseWrapper,
    to: Path,
    *,
    at: datetime,
    replace: bool = False,
    step: Callable[[], None] = lambda: None,
) -> Contents:
    """Write the backup and say what is in it; chains that do not fit are kept as they stand, and named.

    Raises FileIsThereError, RefusedRestoreError, DamagedBackupError and OSError; no half file is left behind.
    """
    refuse_if_there(to, replace=replace)
    with tempfile.TemporaryDirectory(prefix=".backup-", dir=to.parent) as folder:
        database, aside = Path(folder, "database"), Path(folder, "backup")
        contents = _copied(connection, database, step)
        manifest = _manifest(connection.vendor, contents, at, digest_of_file(database))
        write_archive(aside, manifest, database)
        if read_archive(aside) != manifest:
            raise DamagedBackupError("what was written is not what is read back")
        refuse_if_there(to, replace=replace)
        aside.replace(to)
    return contents


def _copied(connection: BaseDatabaseWrapper, to: Path, step: Callable[[], None]) -> Contents:
    if connection.vendor == "postgresql":
        with postgres.one_moment(connection) as (reading, snapshot):
            postgres.dump(connection, to, snapshot)
            return contents_of(reading, step)
    sqlite.copy(Path(connection.settings_dict["NAME"]), to)
    copied = another(connection, str(to))
    try:
        return contents_of(copied, step)
    finally:
        copied.close()


def _manifest(vendor: str, contents: Contents, at: datetime, sha256: str) -> Manifest:
    counted = asdict(contents)
    del counted["misfits"]
    return Manifest(vendor=vendor, made_at=at.isoformat(timespec="seconds"), sha256=sha256, **counted)
