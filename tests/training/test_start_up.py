"""A site that starts says once what it stands on, and does not start unguarded."""

from __future__ import annotations

import gc
import importlib
import logging
import sqlite3
from collections.abc import Callable

import pytest
from django.core.exceptions import ImproperlyConfigured
from django.db import connection

from training.records import guards
from training.sqlite import starting
from training.sqlite.base import pragmas

on_sqlite = pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite only")
on_postgres = pytest.mark.skipif(connection.vendor != "postgresql", reason="PostgreSQL only")


@pytest.fixture
def start(db, monkeypatch) -> Callable[[], None]:
    """What a starting site does. The tests' own connection stays open, for the transaction that is under way."""
    monkeypatch.setattr(connection, "close", lambda: None)
    from training import wsgi  # here, and not in a test: it sets the logging up, under which `caplog` would be lost

    return wsgi.look_at_the_database


@pytest.fixture
def said(start, caplog) -> Callable[[], list[str]]:
    """Start, and give back what is logged."""

    def run() -> list[str]:
        with caplog.at_level(logging.INFO, logger="training.sqlite"):
            start()
        return [line.getMessage() for line in caplog.records if line.name.startswith("training.sqlite")]

    return run


@on_sqlite
def test_it_logs_the_version_and_the_journal_mode_once(said):
    mode = pragmas(sqlite3.sqlite_version_info)[0].partition("=")[2].lower()
    lines = said()

    assert len(lines) == 1
    assert lines[0].startswith(f"Database: SQLite {sqlite3.sqlite_version}, journal mode {mode}, synchronous ")


@on_postgres
def test_it_logs_the_version_once(said):
    with connection.cursor() as cursor:
        cursor.execute("SHOW server_version_num")
        number = int(cursor.fetchone()[0])

    assert said() == [f"Database: PostgreSQL {number // 10000}.{number % 10000}."]


@on_sqlite
@pytest.mark.parametrize(("version", "why"), [((3, 40, 1), "could lose a commit"), ((3, 51, 3), "safe")])
def test_it_says_whether_the_write_ahead_log_is_safe(said, monkeypatch, version, why):
    monkeypatch.setattr(sqlite3.dbapi2, "sqlite_version_info", version)

    assert f"(the write-ahead log of this version: {why})." in said()[0]


@on_sqlite
def test_a_mode_that_was_not_taken_is_a_warning(said, monkeypatch):
    monkeypatch.setattr(starting, "journal", lambda connection: ("memory", 3))

    assert said()[1].startswith("SQLite's journal mode is memory and not ")


def test_it_does_not_start_with_a_trigger_missing(start):
    guards.lift(connection)

    with pytest.raises(ImproperlyConfigured, match="records could be changed"):
        start()


def test_another_connection_says_nothing(db, caplog):
    caplog.set_level(logging.INFO, logger="training")
    another = connection.copy()
    another.ensure_connection()
    another.close()

    assert caplog.messages == []


def test_what_is_there_when_it_starts_is_not_collected_again(start):
    import training.wsgi

    before = gc.get_freeze_count()
    held = [[number] for number in range(1000)]
    importlib.reload(training.wsgi)

    assert gc.get_freeze_count() >= before + len(held)
