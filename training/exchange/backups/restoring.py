"""Restore a backup: into a new database, checked there, and only then in the old one's place."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.db.backends.base.base import BaseDatabaseWrapper

from training.exchange.backups import postgres, sqlite
from training.exchange.backups.archive import DamagedBackupError, Manifest, read_archive
from training.exchange.backups.contents import Contents, another, contents_of, missing_migrations, unknown_migrations
from training.exchange.backups.refusing import RefusedRestoreError
from training.exchange.statistics import renew_statistics
from training.records import guards
from training.tenancy.roles import put_in_place


@dataclass(frozen=True, slots=True, kw_only=True)
class Restored:
    """kept: the name the database that was there has now. older: migrations the backup had not seen."""

    manifest: Manifest
    contents: Contents
    kept: str | None
    older: list[str]


def restore_backup(
    connection: BaseDatabaseWrapper,
    file: Path,
    *,
    at: datetime,
    although_misfit: bool = False,
    step: Callable[[], None] = lambda: None,
) -> Restored:
    """Put a backup in the place of the database this connection is for.

    Until the last step nothing that is there is touched, and after it the database that was there is kept under
    another name. Raises RefusedRestoreError, DamagedBackupError or OSError, each with nothing changed.
    """
    connection.close()
    on_postgres = connection.vendor == "postgresql"
    target = connection.settings_dict["NAME"]
    if on_postgres:
        postgres.refuse_in_use(connection)
    else:
        sqlite.refuse_in_use(Path(target))
    beside = None if on_postgres else Path(target).parent
    with tempfile.TemporaryDirectory(prefix=".restore-", dir=beside) as folder:
        inside = Path(folder, "database")
        manifest = read_archive(file, inside)
        _refuse_foreign(manifest, connection.vendor)
        into = _into_postgres if on_postgres else _into_sqlite
        contents, kept = into(connection, inside, manifest, f"{at:%Y%m%d%H%M%S}", although_misfit, step)
    return Restored(manifest=manifest, contents=contents, kept=kept, older=missing_migrations(contents.migrations))


def _refuse_foreign(manifest: Manifest, vendor: str) -> None:
    if manifest.vendor != vendor:
        raise RefusedRestoreError(f"The backup is of {manifest.vendor}, and this site uses {vendor}.")
    _refuse_newer(manifest.migrations)


def _refuse_newer(migrations: list[str]) -> None:
    newer = unknown_migrations(migrations)
    if newer:
        raise RefusedRestoreError(
            f"The backup is of a newer version: this one does not know the migration {newer[0]}. "
            "Install the version it was made with, or a later one."
        )


def _into_sqlite(
    connection: BaseDatabaseWrapper,
    inside: Path,
    manifest: Manifest,
    stamp: str,
    although: bool,
    step: Callable[[], None],
) -> tuple[Contents, str | None]:
    sqlite.refuse_unsound(inside)
    new = another(connection, str(inside))
    try:
        contents = _checked(new, manifest, although, step)
        with new.cursor() as cursor:
            cursor.execute("PRAGMA journal_mode=DELETE")  # one file, whole
    finally:
        new.close()
    target = Path(connection.settings_dict["NAME"])
    kept = target.with_name(f"{target.name}.before-restore-{stamp}")
    return contents, str(kept) if sqlite.swap_in(inside, target, kept) else None


def _into_postgres(
    connection: BaseDatabaseWrapper,
    inside: Path,
    manifest: Manifest,
    stamp: str,
    although: bool,
    step: Callable[[], None],
) -> tuple[Contents, str | None]:
    target = connection.settings_dict["NAME"]
    kept = f"{target[:30]}_before_restore_{stamp}"
    with postgres.filled(connection, inside) as new:
        contents = _checked(new, manifest, although, step)
        renew_statistics(new)
        return contents, kept if postgres.swap_in(new, target, kept) else None


def _checked(new: BaseDatabaseWrapper, manifest: Manifest, although: bool, step: Callable[[], None]) -> Contents:
    """Read the new database through and see to its guards."""
    contents = contents_of(new, step)
    _refuse_newer(contents.migrations)
    if (contents.chains, contents.records, contents.heads) != (manifest.chains, manifest.records, manifest.heads):
        raise DamagedBackupError("the records in it are not those its manifest counted")
    if contents.misfits and not although:
        raise RefusedRestoreError(
            f"The backup holds records that do not fit: {contents.misfits[0]}. "
            "With --although-records-misfit it is restored as it stands."
        )
    if guards.TABLE not in new.introspection.table_names():
        raise RefusedRestoreError("The backup holds no table of records: it is of an empty database.")
    guards.install(new)
    if guards.missing(new):
        raise RefusedRestoreError(f"The trigger {guards.missing(new)[0]} cannot be put in place.")
    put_in_place(new)
    return contents
