"""The append-only table: its chain, its intents, its guards."""

from __future__ import annotations

import threading
import uuid

import pytest
from django.core.management import call_command
from django.core.management.base import SystemCheckError
from django.db import DatabaseError, IntegrityError, connection, connections, transaction

from competency.chain import NOTHING_BEFORE, digest_of
from tests.cast import NOW
from tests.factories import OrganisationFactory
from training.people.models import Organisation
from training.records import guards
from training.records.appending import AlreadyRecordedError, ChainMovedError, append, instant_text
from training.records.checks import records_are_guarded
from training.records.models import Record

CHAIN = uuid.UUID(int=7)


def write(organisation, intent=None, chain=CHAIN, **body):
    return append(organisation=organisation, chain=chain, kind="note", body=body, intent=intent or uuid.uuid4(), at=NOW)


@pytest.fixture
def organisation(db):
    return OrganisationFactory()


def test_each_record_carries_the_digest_of_the_one_before(organisation):
    first, second = write(organisation, n=1), write(organisation, n=2)

    assert (first.number, first.previous) == (1, NOTHING_BEFORE)
    assert (second.number, second.previous) == (2, first.digest)


def test_the_digest_is_that_of_the_stored_row(organisation):
    write(organisation, text="é", n=1)
    row = Record.objects.get(chain=CHAIN)

    assert row.digest == digest_of(
        organisation=str(organisation.public_id),
        chain=str(row.chain),
        number=row.number,
        kind=row.kind,
        intent=str(row.intent),
        recorded_at=instant_text(row.recorded_at),
        body=bytes(row.body),
        previous=row.previous,
    )


def test_chains_are_apart(organisation):
    write(organisation)

    assert write(organisation, chain=uuid.UUID(int=8)).number == 1


def test_the_same_intent_is_refused_with_the_record_that_is_there(organisation):
    intent = uuid.uuid4()
    first = write(organisation, intent)

    with pytest.raises(AlreadyRecordedError) as refusal:
        write(organisation, intent)

    assert refusal.value.record == first


ATTACKS = {
    "queryset update": lambda r: Record.objects.update(kind="x"),
    "instance delete": lambda r: r.delete(),
    "queryset delete": lambda r: Record.objects.all().delete(),
    "bulk update": lambda r: Record.objects.bulk_update([r], ["kind"]),
    "instance save": lambda r: r.save(),
    "raw delete": lambda r: connection.cursor().execute("DELETE FROM records_record"),
    "raw update": lambda r: connection.cursor().execute("UPDATE records_record SET kind = 'x'"),
    "cascade": lambda r: Organisation.objects.filter(pk=r.organisation_id).delete(),
}


@pytest.mark.parametrize("attack", ATTACKS)
def test_nobody_changes_or_removes_a_record(organisation, attack):
    made = write(organisation)

    with pytest.raises((DatabaseError, IntegrityError)), transaction.atomic():
        ATTACKS[attack](made)

    assert Record.objects.get(chain=CHAIN).digest == made.digest


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own statement")
def test_insert_or_replace_does_not_either(organisation):
    write(organisation)

    with pytest.raises(IntegrityError), transaction.atomic():
        connection.cursor().execute(
            "INSERT OR REPLACE INTO records_record SELECT id, chain, number, 'x', intent, recorded_at, body, previous,"
            " digest, organisation_id FROM records_record"
        )


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no TRUNCATE")
def test_truncate_does_not_either(organisation):
    write(organisation)

    with pytest.raises(DatabaseError), transaction.atomic():
        connection.cursor().execute("TRUNCATE records_record")


@pytest.mark.django_db
def test_every_guard_is_in_place():
    assert guards.missing(connection) == []


@pytest.mark.django_db
def test_a_missing_guard_is_an_error_and_the_next_migration_puts_it_back():
    guards.lift(connection)
    found = [error.id for error in records_are_guarded(databases=["default"])]
    call_command("migrate", verbosity=0)

    assert set(found) == {"records.E001"}
    assert guards.missing(connection) == []


def test_writers_at_once_make_one_chain(guards_lifted):
    """Eight writers with five records each: every number once, every digest on the one before."""
    organisation = OrganisationFactory()
    errors = []

    def work():
        try:
            for _ in range(5):
                with transaction.atomic():
                    write(organisation)
        except (DatabaseError, ChainMovedError) as error:
            errors.append(error)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=work) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    rows = list(Record.objects.of_chain(CHAIN))

    assert errors == []
    assert [r.number for r in rows] == list(range(1, 41))
    assert [r.previous for r in rows] == [NOTHING_BEFORE, *(r.digest for r in rows[:-1])]


@pytest.mark.django_db
def test_a_migration_as_it_is_typed_is_not_stopped_by_what_it_mends(capsys):
    """With its checks, which `call_command` leaves out."""
    guards.lift(connection)
    call_command("migrate", verbosity=0, skip_checks=False)
    assert guards.missing(connection) == []
    assert "was missing and is back" in capsys.readouterr().err


@pytest.mark.django_db
@pytest.mark.parametrize("looking", [{"plan": True}, {"check_unapplied": True}])
def test_one_that_only_looks_mends_nothing(looking):
    guards.lift(connection)
    with pytest.raises(SystemCheckError, match="records could be changed"):
        call_command("migrate", verbosity=0, skip_checks=False, **looking)
    assert guards.missing(connection)
