"""`manage.py export_family`: a family's whole record as one file, or every family's."""

from __future__ import annotations

import uuid
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser

from competency.verify import MisfitError, Report, grouped
from training.curriculum.models import Enrolment
from training.exchange.exporting import FileIsThereError, refuse_if_there, write_export
from training.exchange.progress import Progress
from training.people.models import Family

ENDING = ".jsonl"


class Command(BaseCommand):
    help = (
        "Write a family's whole record, with its programme's and its organisation's chains, as one file that "
        "`python -m competency.verify FILE` checks without the site. It holds health data: keep it like a chart."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        which = parser.add_mutually_exclusive_group(required=True)
        which.add_argument("family", nargs="?", metavar="FAMILY", help="the family's id, as in its address")
        which.add_argument("--all", action="store_true", help="every family, each as a file named by its id")
        parser.add_argument("--out", type=Path, required=True, metavar="FILE", help="the file; with --all a folder")
        parser.add_argument("--replace", action="store_true", help="write over what is there")

    def handle(self, *args: Any, family: str | None, out: Path, replace: bool, **options: Any) -> None:
        families = Family.objects.select_related("organisation", "enrolment__programme__organisation")
        try:
            if options["all"]:
                misfits = self._write_all(list(families.order_by("public_id")), out, replace)
            else:
                misfits = self._write_one(families.filter(public_id=_read_id(family)).first(), out, replace)
        except FileIsThereError as error:
            raise CommandError(str(error)) from error
        except Enrolment.DoesNotExist as error:
            raise CommandError("A family follows no programme; `manage.py verify_records` says which.") from error
        except OSError as error:
            raise CommandError(f"{error.filename or out} cannot be written: {error.strerror}.") from error
        if misfits:
            raise CommandError("\n".join(misfits))

    def _write_one(self, family: Family | None, out: Path, replace: bool) -> list[str]:
        if family is None:
            raise CommandError("There is no family of this id.")
        return self._said(family, out, write_export(family, out, replace=replace))

    def _write_all(self, families: list[Family], folder: Path, replace: bool) -> list[str]:
        folder.mkdir(parents=True, exist_ok=True)
        files = {family: folder / f"{family.public_id}{ENDING}" for family in families}
        for file in files.values():
            refuse_if_there(file, replace=replace)
        progress = Progress(len(families), "families", self.stderr)
        misfits = []
        for family, file in files.items():
            misfits += self._said(family, file, write_export(family, file, replace=replace))
            progress.step()
        progress.end()
        return misfits

    def _said(self, family: Family, file: Path, found: Report | MisfitError) -> list[str]:
        """Say what was written; a record that does not fit is what is returned."""
        if isinstance(found, MisfitError):
            return [f"{file} was written as the records stand, and does not fit: {found}"]
        own = found.chains[0]
        self.stdout.write(f"{family.public_id}: {own.count} records, head {grouped(own.head)}, in {file}")
        return []


def _read_id(text: str | None) -> uuid.UUID:
    try:
        return uuid.UUID(text or "")
    except ValueError:
        raise CommandError("A family's id is 32 hexadecimal digits with dashes, as in its address.") from None
