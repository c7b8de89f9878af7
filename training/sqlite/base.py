"""A journal mode chosen by the SQLite version that is linked; writing transactions start as writers.

A race at the reset of the write-ahead log can lose committed writes in SQLite 3.7.0 to 3.51.2
(fixed in 3.51.3, 3.50.7 and 3.44.6), so those versions get a rollback journal.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from django.db.backends.sqlite3 import base
from django.db.utils import OperationalError

from training.sqlite.creation import DatabaseCreation
from training.sqlite.turns import Line, line_for

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
    """Django's, with the journal above, and with writers that wait in line (see `training.sqlite.turns`)."""

    creation_class = DatabaseCreation

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._line: Line | None = None  # where this connection has the turn
        self._patience: float | None = None
        self.execute_wrappers.append(self._write_in_turn)

    def get_connection_params(self) -> dict[str, Any]:
        self.settings_dict.setdefault("OPTIONS", {}).setdefault("transaction_mode", "IMMEDIATE")
        return super().get_connection_params()

    def get_new_connection(self, conn_params: dict[str, Any]) -> Any:
        connection = super().get_new_connection(conn_params)
        for pragma in pragmas(sqlite3.sqlite_version_info):
            connection.execute(pragma)
        return connection

    @contextmanager
    def patience(self, seconds: float) -> Iterator[None]:
        """Wait no longer than this for a turn: for a write that somebody's reading waits for."""
        before, self._patience = self._patience, seconds
        try:
            yield
        finally:
            self._patience = before

    def _start_transaction_under_autocommit(self) -> None:
        self._take_turn()
        try:
            super()._start_transaction_under_autocommit()
        except BaseException:
            self._give_turn()
            raise

    def _commit(self) -> None:
        super()._commit()  # where it fails, a rollback follows
        self._give_turn()

    def _rollback(self) -> None:
        try:
            super()._rollback()
        finally:
            self._give_turn()

    def _close(self) -> None:
        try:
            super()._close()
        finally:
            self._give_turn()

    def _write_in_turn(self, execute: Callable[..., Any], sql: str, *about: Any) -> Any:
        """A write outside a transaction has its turn for itself."""
        if self.in_atomic_block or not sql.startswith(("INSERT", "UPDATE", "DELETE")):
            return execute(sql, *about)
        self._take_turn()
        try:
            return execute(sql, *about)
        finally:
            self._give_turn()

    def _take_turn(self) -> None:
        if self._line is not None or self.is_in_memory_db():
            return
        self.ensure_connection()  # which makes the file
        line = line_for(str(self.settings_dict["NAME"]))
        try:
            has_come = line.take(self._patience or self.settings_dict["OPTIONS"].get("timeout", 5))
        except OSError as error:
            raise OperationalError("unable to open the file for the writers' turns") from error
        if not has_come:
            raise OperationalError("database is locked")
        self._line = line

    def _give_turn(self) -> None:
        line, self._line = self._line, None
        if line is not None:
            line.give()
