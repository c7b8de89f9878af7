"""The journal mode follows the SQLite version that is linked."""

import sqlite3

import pytest
from django.db import connection

from training.sqlite.base import ROLLBACK, WRITE_AHEAD, pragmas


@pytest.mark.parametrize(
    ("version", "mode"),
    [
        ((3, 40, 1), ROLLBACK),
        ((3, 44, 5), ROLLBACK),
        ((3, 44, 6), WRITE_AHEAD),
        ((3, 45, 0), ROLLBACK),
        ((3, 50, 6), ROLLBACK),
        ((3, 50, 7), WRITE_AHEAD),
        ((3, 51, 2), ROLLBACK),
        ((3, 51, 3), WRITE_AHEAD),
        ((3, 52, 0), WRITE_AHEAD),
    ],
)
def test_only_a_fixed_write_ahead_log_is_used(version, mode):
    """Fixed in 3.51.3, 3.50.7 and 3.44.6 (SQLite's own release notes, by way of the team's notes)."""
    assert pragmas(version) == mode


@pytest.mark.django_db
@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite only")
def test_a_connection_is_as_the_version_wants_it():
    with connection.cursor() as cursor:
        synchronous = cursor.execute("PRAGMA synchronous").fetchone()[0]

    assert synchronous == (3 if pragmas(sqlite3.sqlite_version_info) is ROLLBACK else 2)


@pytest.mark.skipif(connection.vendor != "sqlite", reason="SQLite only")
def test_a_writing_transaction_starts_as_a_writer():
    assert connection.settings_dict["OPTIONS"]["transaction_mode"] == "IMMEDIATE"
