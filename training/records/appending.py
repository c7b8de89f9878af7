"""One record after another: the only door to the table."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from django.db import IntegrityError, connection, transaction

from competency.chain import NOTHING_BEFORE, canonical, digest_of
from training.people.models import Organisation
from training.records.entries import log_record
from training.records.models import Record

TRIES = 8


class ChainMovedError(Exception):
    """Another record took the number first, again and again. Nothing was written; the deed can be tried again."""


class AlreadyRecordedError(Exception):
    """This intent is a record already: the same post came twice. Carries the record that is there."""

    def __init__(self, record: Record) -> None:
        self.record = record
        super().__init__(f"intent {record.intent} is record {record.number} of its chain")


def instant_text(instant: datetime) -> str:
    """An instant as records write it: UTC, six digits of a second."""
    return instant.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"


def append(
    *, organisation: Organisation, chain: uuid.UUID, kind: str, body: Mapping[str, Any], intent: uuid.UUID, at: datetime
) -> Record:
    """Write the next record of a chain. Call it inside the deed's transaction.

    The unique constraint lets one writer at a time have a number; who comes second reads the new head and tries again.
    Raises AlreadyRecordedError when the intent is a record already, ChainMovedError when it never got a turn.
    """
    written = canonical(body)
    lock_chain(chain)
    for _ in range(TRIES):
        there = Record.objects.filter(intent=intent).first()
        if there is not None:
            raise AlreadyRecordedError(there)
        try:
            with transaction.atomic():
                made = _write(organisation, chain, kind, written, intent, at)
                log_record(made, body)
                return made
        except IntegrityError as error:
            if "unique" not in str(error).lower():
                raise
    raise ChainMovedError(f"chain {chain}")


def _write(
    organisation: Organisation, chain: uuid.UUID, kind: str, body: bytes, intent: uuid.UUID, at: datetime
) -> Record:
    head = Record.objects.filter(chain=chain).order_by("-number").first()
    number = head.number + 1 if head else 1
    previous = head.digest if head else NOTHING_BEFORE
    digest = digest_of(
        organisation=str(organisation.public_id),
        chain=str(chain),
        number=number,
        kind=kind,
        intent=str(intent),
        recorded_at=instant_text(at),
        body=body,
        previous=previous,
    )
    return Record.objects.create(
        organisation=organisation,
        chain=chain,
        number=number,
        kind=kind,
        intent=intent,
        recorded_at=at,
        body=body,
        previous=previous,
        digest=digest,
    )


def head_of(chain: uuid.UUID) -> tuple[int, str]:
    """The number and digest of the last record of a chain; 0 and zeros while it is empty."""
    head = Record.objects.filter(chain=chain).order_by("-number").values_list("number", "digest").first()
    return head if head else (0, NOTHING_BEFORE)


def lock_chain(chain: uuid.UUID) -> None:
    """Let one deed at a time judge and write on this chain, until the transaction ends.

    PostgreSQL takes an advisory lock, so that writers wait their turn instead of running into the unique constraint;
    SQLite's immediate transactions have one writer anyway. A deed takes it before it reads what it judges.
    """
    if connection.vendor == "postgresql" and connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [chain.int & 0x7FFFFFFFFFFFFFFF])


def hold_still(chain: uuid.UUID) -> None:
    """Let nobody write on this chain until the transaction ends, and anybody else hold it still too.

    A family's deed judges by its programme: a publication waits for it, or it for the publication.
    """
    if connection.vendor == "postgresql" and connection.in_atomic_block:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock_shared(%s)", [chain.int & 0x7FFFFFFFFFFFFFFF])
