"""`manage.py rebuild_projections`: rows worked out again from the records, and what differed."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import IntegrityError, connection

from training.exchange.progress import Progress
from training.records.models import Record
from training.records.stored import check_chains, stored
from training.standing.projecting import NotToBeProjectedError, rows_without_records
from training.standing.rebuilding import NotToBeRebuiltError, rebuild_family, rebuild_programme

# By the kind of a chain's first record. Programmes first: families rest on them.
REBUILT: dict[str, Callable[..., list[str]]] = {"programme": rebuild_programme, "family": rebuild_family}


class Command(BaseCommand):
    help = (
        "Work families, caregivers, programmes, editions, rules and stored spans out again from the records, and name "
        "what differed. A chain that does not fit is left alone. Accounts are in no record and stay as they are."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--check", action="store_true", help="only compare; exit status 1 where something differs")

    def handle(self, *args: Any, check: bool, **options: Any) -> None:
        chains = [
            (chain, rebuild)
            for kind, rebuild in REBUILT.items()
            for chain in Record.objects.filter(number=1, kind=kind).values_list("chain", flat=True)
        ]
        progress = Progress(len(chains), "chains", self.stderr)
        differing, left = 0, 0
        for line in rows_without_records():
            self.stdout.write(f"{line}; the row is left as it is")
            left += 1
        for chain, rebuild in chains:
            lines, kept_back = _rebuilt(chain, rebuild, keep=not check)
            for line in lines:
                self.stdout.write(line)
            differing += len(lines) - kept_back
            left += kept_back
            progress.step()
        progress.end()
        self._end(len(chains), differing, left, check)

    def _end(self, chains: int, differing: int, left: int, check: bool) -> None:
        if left:
            raise CommandError(f"{left} of {chains} chains could not be worked out from records; see above.")
        counted = f"{differing} {'difference' if differing == 1 else 'differences'} in {chains} chains"
        if differing and check:
            raise CommandError(f"{counted}. Without --check they are put right.")
        if differing:
            self.stdout.write(f"{counted}, now put right. Restart the site, which keeps programmes in memory.")
        else:
            self.stdout.write(f"{chains} chains: every row is what its records say.")


def _rebuilt(chain: uuid.UUID, rebuild: Callable[..., list[str]], *, keep: bool) -> tuple[list[str], int]:
    """What differed, and 1 where the chain had to be left alone."""
    misfit = next((found for _, found in check_chains(stored(connection, chain)) if found), None)
    if misfit:
        return [f"chain {chain}: left alone, its records do not fit: {misfit}"], 1
    try:
        return rebuild(chain, keep=keep), 0
    except (NotToBeProjectedError, NotToBeRebuiltError, IntegrityError) as error:
        return [f"chain {chain}: left alone: {error}"], 1
