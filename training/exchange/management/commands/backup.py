"""`manage.py backup`: the whole database as one file."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import Error, connection
from django.utils import timezone

from training.exchange.backups.archive import DamagedBackupError
from training.exchange.backups.making import make_backup
from training.exchange.backups.refusing import RefusedRestoreError
from training.exchange.exporting import FileIsThereError
from training.exchange.progress import Progress
from training.records.stored import count


class Command(BaseCommand):
    help = (
        "Write the whole database to one file and read it back, also while the site is in use. It holds health data "
        "and accounts: keep it as safe as the database, and elsewhere."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("file", metavar="FILE", type=Path)
        parser.add_argument("--replace", action="store_true", help="write over what is there")

    def handle(self, *args: Any, file: Path, replace: bool, **options: Any) -> None:
        try:
            progress = Progress(count(connection), "records", self.stderr)
            made = make_backup(connection, file, at=timezone.now(), replace=replace, step=progress.step)
            progress.end()
        except (FileIsThereError, RefusedRestoreError, DamagedBackupError, OSError, Error) as error:
            raise CommandError(f"No backup was made: {error}") from error
        self.stdout.write(f"{file}: {made.records} records in {made.chains} chains, read back and whole.")
        if made.misfits:
            raise CommandError("The backup is a true copy, but records in it do not fit:\n" + "\n".join(made.misfits))
