"""`manage.py rebuild_standing`: every stored span worked out again from the records, or only compared with them."""

from __future__ import annotations

import os
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection

from training.exchange.progress import Progress
from training.exchange.rebuilding_apart import rebuild_apart
from training.exchange.statistics import renew_statistics
from training.standing.rebuilding_spans import Rebuilt, last_round, left_over


class Command(BaseCommand):
    help = (
        "Work out again from the records what the board and the pages look up: standings, readiness and the board's "
        "lines, of every family. Safe while the site runs. Run it after an upgrade that says so."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="only compare; exit status 1 where something differs")
        parser.add_argument("--processes", type=int, default=os.cpu_count() or 1, help="default: one a processor")
        parser.add_argument("--resume", action="store_true", help="go on where the last run was stopped")

    def handle(self, *args: Any, check: bool, processes: int, resume: bool, **options: Any) -> None:
        if processes < 1:
            raise CommandError("--processes is 1 or more.")
        if check and resume:
            raise CommandError("--check looks at every family; it has nothing to go on with.")
        round_ = max(last_round(), 1) if resume else last_round() + 1
        families = left_over(round_ if not check else last_round() + 1)
        if not check:
            renew_statistics(connection)
        progress = Progress(len(families), "families", self.stderr)
        done = Rebuilt()
        for some in rebuild_apart(families, processes=processes, keep=not check, round_=0 if check else round_):
            done.add(some)
            for family in some.differing if check else ():
                self.stdout.write(f"family {family}: the stored spans are not what the rules work out")
            for family in some.refused:
                self.stdout.write(f"family {family}: the rules refuse its records; its spans are left as they are")
            progress.step(of=some.families)
        progress.end()
        if not check:
            renew_statistics(connection)
        self._end(done, check=check)

    def _end(self, done: Rebuilt, *, check: bool) -> None:
        if done.refused:
            raise CommandError(f"{len(done.refused)} of {done.families} families could not be worked out; see above.")
        if check and done.differing:
            raise CommandError(
                f"{len(done.differing)} of {done.families} families differ. Without --check they are put right."
            )
        was = f"{len(done.differing)} had to be put right" if done.differing else "all of them were right"
        self.stdout.write(f"{done.families} families worked out; {was}.")
