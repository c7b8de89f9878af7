"""`manage.py programme export | check | import`: a programme as one YAML file (docs/programme-file.md)."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import IntegrityError
from django.utils import timezone

from competency.fields import RefusedError
from training.curriculum.models import Programme
from training.curriculum.programme_file import ProgrammeFile, content_digest, plain, read_file
from training.curriculum.programme_text import written
from training.curriculum.published import published
from training.curriculum.retiring import retired_in_use
from training.exchange.programmes.files import FileIsThereError, text_of, write_whole
from training.people.models import Organisation
from training.records.appending import ChainMovedError
from training.standing.importing import Imported, import_programme


class Command(BaseCommand):
    help = "Write a programme as one YAML file, check such a file, or bring one in. docs/programme-file.md explains it."

    def add_arguments(self, parser: CommandParser) -> None:
        actions = parser.add_subparsers(dest="action", required=True, metavar="ACTION")
        export = actions.add_parser("export", help="write a programme, with every edition published, as a file")
        export.add_argument("code", metavar="CODE", help="the programme's code")
        export.add_argument("--out", type=Path, required=True, metavar="FILE")
        export.add_argument("--replace", action="store_true", help="write over what is there")
        check = actions.add_parser("check", help="say everything that is wrong with a file; writes nothing anywhere")
        check.add_argument("file", type=Path, metavar="FILE")
        bring = actions.add_parser("import", help="publish what a file adds; what is published stays as it is")
        bring.add_argument("file", type=Path, metavar="FILE")
        bring.add_argument(
            "--from",
            dest="from_day",
            type=date.fromisoformat,
            metavar="DATE",
            help="for a programme that is new here: what the file has in force on this day begins on it",
        )
        for action in (export, bring):
            action.add_argument(
                "--organisation", metavar="TITLE", help="whose; may be left out where there is only one"
            )

    def handle(self, *args: Any, action: str, **options: Any) -> None:
        try:
            {"export": self._export, "check": self._check, "import": self._import}[action](options)
        except RefusedError as refusal:
            problems = len(refusal.problems)
            raise CommandError(f"{refusal}\n{problems} {'problem' if problems == 1 else 'problems'}.") from refusal
        except OSError as error:
            raise CommandError(f"{error.filename or 'The file'}: {error.strerror}.") from error

    def _export(self, options: dict[str, Any]) -> None:
        code, out = options["code"], options["out"]
        organisation = _organisation(options["organisation"])
        programme = Programme.objects.filter(organisation=organisation, code=code).first()
        if programme is None:
            raise CommandError(f'{organisation} has no programme "{code}". {_codes(organisation)}')
        text = written(plain(published(programme)))
        file = read_file(text)  # what could not be brought in again is not written
        try:
            write_whole(text, out, replace=options["replace"])
        except FileIsThereError as error:
            raise CommandError(str(error)) from error
        self.stdout.write(f"{_said(file)}, in {out}")

    def _check(self, options: dict[str, Any]) -> None:
        file = read_file(text_of(options["file"]))
        begun = timezone.localdate() - timedelta(days=1)  # everywhere on earth
        if file.read and (found := list(retired_in_use(file, begun))):
            raise file.read.refused(found)
        self.stdout.write(f"{_said(file)}. Nothing is wrong with it.")

    def _import(self, options: dict[str, Any]) -> None:
        file = read_file(text_of(options["file"]), from_day=options["from_day"])
        organisation = _organisation(options["organisation"])
        if options["from_day"] and organisation.programmes.filter(code=file.code).exists():
            raise CommandError(
                f'{organisation} has "{file.code}" already; --from is for a programme that is new there.'
            )
        try:
            made = import_programme(organisation=organisation, file=file, at=timezone.now())
        except (IntegrityError, ChainMovedError) as error:
            raise CommandError(
                "Somebody else wrote to this programme at that moment. Nothing was done; again."
            ) from error
        for line in _changes(made, file):
            self.stdout.write(line)


def _organisation(title: str | None) -> Organisation:
    if title is not None:
        found = Organisation.objects.filter(title=title).first()
        if found is None:
            raise CommandError(f'There is no organisation "{title}".')
        return found
    several = list(Organisation.objects.order_by("pk")[:2])
    if not several:
        raise CommandError("There is no organisation yet; `manage.py start_organisation` makes one.")
    if len(several) > 1:
        raise CommandError("There are several organisations; --organisation TITLE says which.")
    return several[0]


def _codes(organisation: Organisation) -> str:
    codes = list(organisation.programmes.order_by("code").values_list("code", flat=True))
    return f"It has {', '.join(codes)}." if codes else "It has none."


def _said(file: ProgrammeFile) -> str:
    """One line about a file; the digest is that of everything in it."""
    whole = {**file.about, "editions": list(file.editions), "rules": list(file.rules)}
    return (
        f"{file.code}: {len(file.about['skills'])} skills, {len(file.editions)} editions, "
        f"{len(file.rules)} times rules, content {content_digest(whole)[:12]}"
    )


def _changes(made: Imported, file: ProgrammeFile) -> Iterator[str]:
    bodies = {(skill, edition["edition"]): edition for skill, edition in file.editions}
    for skill, number in made.editions:
        edition = bodies[skill, number]
        yield f"{skill}, edition {number}, from {edition['in_force_from']}: content {content_digest(edition)[:12]}"
    for day in made.rules:
        yield f"sets, team and items from {day}"
    if made.has_new_words and not made.is_new:
        yield "names, reasons and cautions as the file says them"
    if not (made.editions or made.rules or made.has_new_words):
        yield f"{file.code} is there already, the same in every word. Nothing was done."
    else:
        kept = len(file.editions) - len(made.editions)
        where = f"{made.programme.organisation} has {file.code}"
        yield f"{where}: {len(made.editions)} editions published, {kept} there already."
