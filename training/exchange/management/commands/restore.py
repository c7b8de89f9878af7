"""`manage.py restore`: a backup in the place of the database."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import Error, connection
from django.utils import timezone

from training.exchange.backups.archive import DamagedBackupError, read_archive
from training.exchange.backups.refusing import RefusedRestoreError
from training.exchange.backups.restoring import Restored, restore_backup
from training.exchange.progress import Progress


class Command(BaseCommand):
    help = (
        "Restore a backup into a new database, check every chain and the guards there, and let it take the place of "
        "the one that is there, which is kept under another name. Stop the site first."
    )
    requires_system_checks = []  # they look at the database that is to be replaced, which may be the damaged one

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path, help="made by `manage.py backup`")
        parser.add_argument(
            "--although-records-misfit", action="store_true", help="restore a backup whose chains do not fit as well"
        )

    def handle(self, *args: Any, file: Path, although_records_misfit: bool, **options: Any) -> None:
        try:
            progress = Progress(read_archive(file).records, "records", self.stderr)
            restored = restore_backup(
                connection, file, at=timezone.now(), although_misfit=although_records_misfit, step=progress.step
            )
            progress.end()
        except (RefusedRestoreError, DamagedBackupError, OSError, Error) as error:
            raise CommandError(f"Nothing was restored and nothing was changed: {error}") from error
        self._tell(restored)

    def _tell(self, restored: Restored) -> None:
        found = restored.contents
        self.stdout.write(f"Restored the backup of {restored.manifest.made_at}.")
        if found.misfits:
            self.stdout.write("These records do not fit:\n" + "\n".join(found.misfits))
        else:
            self.stdout.write(f"{found.records} records in {found.chains} chains fit.")
        self.stdout.write("The triggers that guard them are in place.")
        if restored.kept:
            self.stdout.write(f"The database that was here is kept as {restored.kept}.")
        if restored.older:
            self.stdout.write("It is of an older version: run `manage.py migrate` before you start the site.")
