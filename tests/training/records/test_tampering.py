"""Whoever has the file in their hands can change it; the checker names what was done."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from django.db import connection

from tests.training.records.tampering import Table, attack_table, report
from training.records import guards
from training.records.stored import check_chains, stored

SEED = 20260514
FEW = 250
MANY = 10_000


def first_misfit(site: Any) -> str | None:
    return next((misfit for _, misfit in check_chains(stored(site)) if misfit), None)


def has_head(site: Any, head: str) -> bool:
    return any(entry.digest == head for entry in stored(site))


@pytest.fixture
def table(scratch: Any) -> Table:
    """The records of a database of their own, its triggers lifted as somebody with the file would."""
    guards.lift(scratch)
    return Table(scratch)


@contextmanager
def undone(site: Any) -> Iterator[None]:
    with site.cursor() as cursor:
        cursor.execute("BEGIN")
        yield
        cursor.execute("ROLLBACK")


def attack_often(table: Table, times: int) -> tuple[Counter[str], list[str]]:
    """How often each kind was done, and what went unnoticed; the tail's cut is looked at with and without a head."""
    draw, done, unnoticed = random.Random(SEED), Counter[str](), []
    for _ in range(times):
        with undone(table.connection):
            attack = attack_table(draw, table)
            found = first_misfit(table.connection)
            if attack.kind == "cut tail":
                noticed = found is None and not has_head(table.connection, attack.head)
            else:
                noticed = found is not None
        done[attack.kind] += 1
        if not noticed:
            unnoticed.append(f"{attack}: {found}")
    return done, unnoticed


def test_every_change_in_the_table_is_named(table):
    done, unnoticed = attack_often(table, FEW)
    report(done)

    assert (unnoticed, sum(done.values())) == ([], FEW)


@pytest.mark.long
def test_every_one_of_very_many_changes_in_the_table_is_named(table):
    done, unnoticed = attack_often(table, MANY)
    report(done)

    assert (unnoticed, sum(done.values())) == ([], MANY)


def test_the_untouched_table_fits(table):
    assert first_misfit(table.connection) is None


def test_an_edited_record_is_the_one_that_is_named(table):
    entry = table.chains[table.long[0]][1]
    table.set(entry, body=b"{}")

    assert first_misfit(table.connection).startswith(f"{entry.name}: its digest is not that of what it says")


# What a database takes in a column although no deed would write it
ODD = {
    "text that is no UTF-8": "UPDATE records_record SET kind = CAST(x'ff' AS TEXT) WHERE id = %s",
    "bytes for a text": "UPDATE records_record SET intent = x'00ff' WHERE id = %s",
    "a text for bytes": "UPDATE records_record SET body = CAST(body AS TEXT) WHERE id = %s",
    "words for a number": "UPDATE records_record SET number = 'many' WHERE id = %s",
    "a fraction for a number": "UPDATE records_record SET number = 1.5 WHERE id = %s",
    "words for a time": "UPDATE records_record SET recorded_at = 'yesterday' WHERE id = %s",
    "bytes for a chain": "UPDATE records_record SET chain = x'ff00' WHERE id = %s",
    "no text for a chain": "UPDATE records_record SET chain = CAST(x'fe' AS TEXT) WHERE id = %s",
    "letters in another case": "UPDATE records_record SET chain = upper(chain) WHERE id = %s",
}


@pytest.mark.skipif(connection.vendor != "sqlite", reason="PostgreSQL's columns take only their own type")
@pytest.mark.parametrize("how", ODD)
@pytest.mark.parametrize("page", [1, 500])
def test_what_sqlite_takes_without_a_word_is_named_too(table, monkeypatch, how, page):
    monkeypatch.setattr("training.records.stored.PAGE", page)
    table.ask(ODD[how], table.ask("SELECT id FROM records_record ORDER BY id LIMIT 1 OFFSET 3")[0][0])

    assert first_misfit(table.connection) is not None


@pytest.mark.skipif(connection.vendor != "postgresql", reason="SQLite keeps a time as text")
@pytest.mark.parametrize("when", ["infinity", "-infinity", "0044-03-15 12:00:00+00 BC", "12026-05-14 12:00:00+00"])
def test_a_time_that_python_cannot_hold_is_named(table, when):
    table.ask("UPDATE records_record SET recorded_at = %s WHERE number = 2", when)

    assert first_misfit(table.connection) is not None


@pytest.mark.parametrize("page", [1, 2, 3, 1000])
def test_every_record_is_read_once_whatever_the_page(scratch, monkeypatch, page):
    whole = list(stored(scratch))
    monkeypatch.setattr("training.records.stored.PAGE", page)

    assert list(stored(scratch)) == whole


# What a chain cannot show: it holds no secret --------------------------------------------------------------


def test_a_cut_tail_is_noticed_by_a_head_from_outside_alone(table):
    *_, last = entries = table.chains[table.long[0]]
    table.delete(last)

    assert (first_misfit(table.connection), has_head(table.connection, last.digest)) == (None, False)
    assert has_head(table.connection, entries[-2].digest)
