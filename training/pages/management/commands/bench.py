"""``manage.py bench``: how fast the board, signing, the rebuild and the packet are, on generated families."""

from __future__ import annotations

import json
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection
from django.utils import timezone

from training.pages.bench.measuring import NotMeasurableError, measure
from training.people.models import Organisation


class Command(BaseCommand):
    help = (
        "Writes an invented organisation of so many families into the database that DATABASE_URL names, and measures. "
        "Refuses a database in which there is any organisation already. What was written stays: throw it away after."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--families", type=int, default=1000)
        parser.add_argument("--cpu", action="store_true", help="processor time of this process instead of the clock's")
        parser.add_argument("--processes", type=int, default=1, help="write and rebuild by so many; the pages by one")
        parser.add_argument("--json", action="store_true", help="one JSON object on standard output")

    def handle(self, *args: Any, families: int, processes: int, **options: Any) -> None:
        if families < 25:
            raise CommandError("--families is 25 or more: so many are signed for.")
        if processes < 1 or (processes > 1 and options["cpu"]):
            raise CommandError("--processes is 1 or more, and 1 with --cpu: another process's time is not counted.")
        _refuse_in_the_wrong_place()
        try:
            now, cpu = timezone.now(), options["cpu"]
            figures = measure(families, now, self.stderr.write, cpu=cpu, processes=processes)
        except NotMeasurableError as error:
            raise CommandError(str(error)) from error
        if options["json"]:
            self.stdout.write(json.dumps({"database": connection.vendor, **figures}))
            return
        for name, value in figures.items():
            self.stdout.write(f"{name:22} {value:>12}")


def _refuse_in_the_wrong_place() -> None:
    if Organisation._meta.db_table not in connection.introspection.table_names():
        raise CommandError("This database has no tables yet. Run `manage.py migrate` first.")
    if Organisation.objects.exists():
        raise CommandError(
            "There is an organisation in this database already. Nothing was changed. Set DATABASE_URL to an empty one, "
            "such as sqlite:///bench.sqlite3 with an absolute path, run `manage.py migrate`, then this command again."
        )
