"""`manage.py verify_records`: every chain, the rows that follow from it, and the guards."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from django.core.management.base import BaseCommand, CommandError, CommandParser
from django.db import connection, transaction

from competency.chain_reading import Chain, Entry
from competency.verify import grouped, read_head
from training.curriculum.models import Programme
from training.exchange.progress import Progress
from training.handover.models import Offer
from training.people.models import Family
from training.records import guards
from training.records.appending import lock_chain
from training.records.stored import check_chains, count, stored
from training.standing.projecting import (
    NotToBeProjectedError,
    family_differences,
    programme_differences,
    rows_without_records,
)


class Command(BaseCommand):
    help = (
        "Read every chain of records through, name the first record of each that does not fit, and name every row "
        "that is not what the records say. Changes nothing."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--head",
            action="append",
            default=[],
            type=read_head,
            metavar="DIGEST",
            help="a digest printed on a packet, which some record must have; may be given several times",
        )

    def handle(self, *args: Any, head: list[str], **options: Any) -> None:
        checked = Checked(head, Progress(count(connection), "records", self.stderr))
        wrong = 0
        for line in checked.lines():
            wrong += 1
            self.stdout.write(line)
        if wrong:
            raise CommandError(f"{wrong} {'thing does' if wrong == 1 else 'things do'} not fit.")
        self.stdout.write(
            f"{checked.records} records in {checked.chains} chains fit, and the rows that follow from them agree."
        )
        if not head:
            self.stdout.write(
                "No head from outside was given (--head): records cut off at a chain's end together with the stored "
                "spans that remember them, or a chain written anew, cannot be noticed without one."
            )


class Checked:
    """One reading of everything; `lines` names what does not fit."""

    def __init__(self, heads: list[str], progress: Progress) -> None:
        self.records = self.chains = 0
        self._unseen = set(heads)
        self._progress = progress

    def lines(self) -> Iterator[str]:
        yield from (f"the trigger {name} is missing: records could be changed" for name in guards.missing(connection))
        for chain, misfit in check_chains(stored(connection), self._see):
            self.chains += 1
            if misfit:
                yield f"chain {chain.chain}: {misfit}"
            else:
                yield from _of_chain(chain)
        self._progress.end()
        yield from rows_without_records()
        for head in sorted(self._unseen):
            yield f"head {grouped(head)}: no record has it. Records were cut off at the end, or written anew"

    def _see(self, entry: Entry) -> None:
        self.records += 1
        self._progress.step()
        self._unseen = {head for head in self._unseen if not entry.digest.startswith(head)}


def _of_chain(chain: Chain) -> list[str]:
    """What the rows of a chain that fits say otherwise than its records."""
    try:
        of = uuid.UUID(chain.chain)
        differing = _differing(of, chain.organisation)
        if not list(differing(of)):
            return []
        with transaction.atomic():
            lock_chain(of)  # a deed may have been under way; now none is
            return list(differing(of))
    except (NotToBeProjectedError, ValueError) as error:
        return [f"chain {chain.chain}: {error}"]


def _differing(of: uuid.UUID, organisation: str | None) -> Callable[[uuid.UUID], Iterable[str]]:
    if Family.objects.filter(public_id=of).exists():
        return family_differences
    if Programme.objects.filter(public_id=of).exists():
        return programme_differences
    if str(of) == organisation:
        return lambda chain: ()  # an organisation's own chain: no row follows from it
    if Offer.objects.filter(public_id=of).exists():
        return lambda chain: ()  # what a receiving organisation keeps of an offer: its file is read, no row follows
    return lambda chain: [f"chain {chain}: no family, programme or organisation has this id"]
