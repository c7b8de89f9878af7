"""A journal mode chosen by the SQLite version that is linked; writing transactions start as writers.

A race at the reset of the write-ahead log can lose committed writes in SQLite 3.7.0 to 3.51.2
(fixed in 3.51.3, 3.50.7 and 3.44.6), so those versions get a rollback journal.
"""

from __future__ import annotations

import sqlite3
from typing import Any

from django.db.backends.sqlite3 import base

ROLLBACK = ("PRAGMA journal_mode=DELETE", "PRAGMA synchronous=EXTRA")
WRITE_AHEAD = ("PRAGMA journal_mode=WAL", "PRAGMA synchronous=FULL")


def write_ahead_log_is_safe(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite has the fix for the lost-commit race in its write-ahead log."""
    if version[:2] == (3, 44):
        return version >= (3, 44, 6)
    if version[:2] == (3, 50):
        return version >= (3, 50, 7)
    return version >= (3, 51, 3)


def pragmas(version: tuple[int, int, int]) -> tuple[str, str]:
    return WRITE_AHEAD if write_ahead_log_is_safe(version) else ROLLBACK


class DatabaseWrapper(base.DatabaseWrapper):
    def get_connection_params(self) -> dict[str, Any]:
        self.settings_dict.setdefault("OPTIONS", {}).setdefault("transaction_mode", "IMMEDIATE")
        return super().get_connection_params()

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        connection = super().get_new_connection(conn_params)
        for pragma in pragmas(sqlite3.sqlite_version_info):
            connection.execute(pragma)
        return connection
