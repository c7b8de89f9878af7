"""Databases of tests, removed with what lies beside them."""

from __future__ import annotations

from pathlib import Path

from django.db.backends.sqlite3 import creation

from training.sqlite.turns import ENDING


class DatabaseCreation(creation.DatabaseCreation):
    def _destroy_test_db(self, test_database_name: str, verbosity: int) -> None:
        super()._destroy_test_db(test_database_name, verbosity)
        Path(f"{test_database_name}{ENDING}").unlink(missing_ok=True)
