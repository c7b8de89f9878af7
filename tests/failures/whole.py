"""What must be true of the database after any trouble."""

from __future__ import annotations

import time
import uuid

from django.db import connection

from competency.chain import NOTHING_BEFORE, digest_of
from training.people.models import Family
from training.records import guards
from training.records.appending import head_of, instant_text
from training.records.models import Record
from training.standing.cache import refresh
from training.standing.file import open_file
from training.standing.models import CachedStanding, CachedVerdict, CacheState, Draft

SPANS = ("family_id", "caregiver_id", "skill", "standing", "start", "through")
VERDICTS = ("family_id", "verdict", "start", "through")


def wait_for_end(pid: int) -> None:
    """PostgreSQL goes on with what it was told for a moment after a client was killed; SQLite was the client."""
    until = time.monotonic() + 60
    while connection.vendor == "postgresql" and _is_connected(pid):
        assert time.monotonic() < until, "the killed process is still connected"
        time.sleep(0.002)


def _is_connected(pid: int) -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT 1 FROM pg_stat_activity WHERE application_name = %s", [f"serving {pid}"])
        return cursor.fetchone() is not None


def broken(family: Family, draft: uuid.UUID, *, acknowledged: bool | None) -> list[str]:
    """Everything that is wrong after one signature was asked for; empty when all holds.

    acknowledged: True, it was said to be signed; False, it was said not to be; None, nobody was told anything.
    """
    is_record = Record.objects.filter(intent=draft).exists()
    is_draft = Draft.objects.filter(intent=draft).exists()
    wrong = []
    if is_record == is_draft:
        wrong.append(f"record: {is_record}, draft: {is_draft}")
    if acknowledged is not None and is_record != acknowledged:
        wrong.append(f"acknowledged: {acknowledged}, in the file: {is_record}")
    wrong += misfits(family)
    wrong += [f"trigger {name} is missing" for name in guards.missing(connection)]
    if CacheState.objects.get(family=family).head != head_of(family.public_id)[1]:
        wrong.append("the stored spans are of another head")
    return wrong


def misfits(family: Family) -> list[str]:
    """The records of a family's chain that do not fit what came before."""
    wrong, before = [], NOTHING_BEFORE
    for place, row in enumerate(Record.objects.of_chain(family.public_id).select_related("organisation"), 1):
        digest = digest_of(
            organisation=str(row.organisation.public_id),
            chain=str(row.chain),
            number=row.number,
            kind=row.kind,
            intent=str(row.intent),
            recorded_at=instant_text(row.recorded_at),
            body=bytes(row.body),
            previous=row.previous,
        )
        if (row.number, row.previous, row.digest) != (place, before, digest):
            wrong.append(f"record {row.number} does not fit")
        before = row.digest
    return wrong


def stale(family: Family) -> bool:
    """Whether the stored spans differ from what the rules say now. Brings them up to date."""
    before = _stored(family)
    refresh(open_file(family))
    return _stored(family) != before


def _stored(family: Family) -> tuple[set[tuple[object, ...]], set[tuple[object, ...]]]:
    return (
        set(CachedStanding.objects.filter(family=family).values_list(*SPANS)),
        set(CachedVerdict.objects.filter(family=family).values_list(*VERDICTS)),
    )


def ruins() -> list[str]:
    """What SQLite itself finds broken in the file."""
    if connection.vendor != "sqlite":
        return []
    with connection.cursor() as cursor:
        found = [row[0] for row in cursor.execute("PRAGMA integrity_check").fetchall()]
    return [line for line in found if line != "ok"]
