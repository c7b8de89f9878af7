"""What is in the log, and that nobody takes it out again."""

from __future__ import annotations

import uuid

import pytest
from django.core.management import call_command
from django.db import DatabaseError, IntegrityError, connection, transaction

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, demonstration, show, write
from training.invitations.models import RemovedAccount
from training.log.models import Entry
from training.log.writing import THE_SITE, at_view, deed, who
from training.people.models import AccountEntry, Organisation
from training.records import guards
from training.records.checks import records_are_guarded
from training.records.models import Record
from training.standing import deeds


def newest(home):
    return Entry.objects.visible_to(home.educator).order_by("-pk").first()


# Deeds


def test_each_record_has_its_entry(cast):
    records = {(str(r.chain), r.number, r.organisation_id, r.kind) for r in Record.objects.all()}
    logged = {(e.about_id, e.number, e.organisation_id, e.what) for e in Entry.objects.filter(kind="deed")}

    assert records
    assert records - logged == set()


def test_a_deed_is_told_in_words(cast):
    home = cast.north
    made = show(home, home.mother, "hands", TODAY)
    entry = newest(home)

    assert (entry.what, entry.number, entry.at) == ("demonstration", made.number, made.recorded_at)
    assert (entry.who_name, entry.who_role, entry.who_id) == (
        home.educator.signed_name,
        "educator",
        home.educator.observer_id,
    )
    assert (entry.about_name, entry.about_id) == ("Okonjo-Lind", str(home.family.public_id))
    assert entry.words == {"skill": "hands", "caregiver": "Marit Okonjo-Lind"}


def test_the_words_stay_when_the_name_changes(cast):
    home = cast.north
    show(home, home.mother, "hands", TODAY)
    home.educator.user.full_name = "Somebody Else"
    home.educator.user.save()

    assert "Somebody Else" not in newest(home).who_name


def test_what_is_rolled_back_is_in_neither(cast):
    home, before = cast.north, Entry.objects.count()
    with transaction.atomic():
        show(home, home.mother, "hands", TODAY)
        transaction.set_rollback(True)

    assert Entry.objects.count() == before


def test_an_entry_that_cannot_be_written_stops_the_deed(cast, monkeypatch):
    home = cast.north
    monkeypatch.setattr("training.log.writing.write", _no_space)
    with pytest.raises(DatabaseError), transaction.atomic():
        show(home, home.mother, "hands", TODAY)

    assert not Record.objects.filter(chain=home.family.public_id, kind="demonstration").exists()


def _no_space(*args, **kwargs):
    raise DatabaseError("no space")


def test_a_refused_deed_is_in_neither(cast):
    home, before = cast.north, Entry.objects.count()
    with pytest.raises(RefusedError):
        write(home.educator, home.family, "hold", NOW, caregiver=home.mother.case_id, skill=None, on="x")

    assert Entry.objects.count() == before


def test_the_same_deed_twice_is_one_entry(cast):
    home, intent = cast.north, uuid.uuid4()
    body = demonstration(home.mother, "hands", TODAY, home.educator)
    for _ in range(2):
        deeds.record(family=home.family, kind="demonstration", body=body, by=home.educator, intent=intent, at=NOW)

    assert Entry.objects.filter(about_id=home.family.public_id, what="demonstration").count() == 1


def test_a_published_programme_is_the_keepers_deed(cast):
    names = set(Entry.objects.filter(what__in=("programme", "edition", "rules")).values_list("who_name", flat=True))

    assert names == {THE_SITE.name}


def test_an_ended_statement_names_whom_and_what(cast):
    home = cast.north
    stated = Record.objects.filter(chain=home.organisation.public_id, kind="qualification").first()
    deeds.end_qualification(
        qualification=stated, last_day=TODAY, reason="Left the ward", by=home.supervisor, intent=uuid.uuid4(), at=NOW
    )
    entry = Entry.objects.get(what="qualification-ended")

    assert entry.words == {"member": home.educator.signed_name, "skill": "every skill"}


def test_the_view_is_named_and_not_its_address(cast):
    home = cast.north
    with at_view("draft-sign"):
        show(home, home.mother, "hands", TODAY)

    assert newest(home).view == "draft-sign"


# Nobody changes it


ATTACKS = {
    "queryset update": lambda e: Entry.objects.update(what="x"),
    "instance delete": lambda e: e.delete(),
    "queryset delete": lambda e: Entry.objects.all().delete(),
    "instance save": lambda e: e.save(),
    "raw delete": lambda e: connection.cursor().execute("DELETE FROM log_entry"),
    "raw update": lambda e: connection.cursor().execute("UPDATE log_entry SET who_name = 'x'"),
    "cascade": lambda e: Organisation.objects.filter(pk=e.organisation_id).delete(),
}


@pytest.fixture
def entry(cast):
    home = cast.north
    return deed(organisation=home.organisation, what="x", by=who(home.educator), at=NOW)


@pytest.mark.parametrize("attack", ATTACKS)
def test_nobody_changes_or_removes_an_entry(entry, attack):
    with pytest.raises((DatabaseError, IntegrityError)), transaction.atomic():
        ATTACKS[attack](entry)

    assert Entry.objects.get(pk=entry.pk).who_name == entry.who_name


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite's own statement")
def test_insert_or_replace_does_not_either(entry):
    columns = ", ".join(f.column for f in Entry._meta.fields if f.column not in ("id", "what"))
    with pytest.raises(IntegrityError), transaction.atomic():
        connection.cursor().execute(
            f"INSERT OR REPLACE INTO log_entry (id, what, {columns}) SELECT id, 'y', {columns} FROM log_entry"
        )


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite has no TRUNCATE")
def test_truncate_does_not_either(entry):
    with pytest.raises(DatabaseError), transaction.atomic():
        connection.cursor().execute("TRUNCATE log_entry")


@pytest.mark.django_db
def test_a_missing_guard_is_an_error_and_the_next_migration_puts_it_back():
    guards.lift(connection)
    found = [error.msg for error in records_are_guarded(databases=["default"])]
    call_command("migrate", verbosity=0)

    assert any("log_entry_no_" in message for message in found)
    assert guards.missing(connection) == []


def test_every_table_that_is_only_added_to_is_guarded():
    assert set(guards.TABLES) == {m._meta.db_table for m in (Record, Entry, AccountEntry, RemovedAccount)}
