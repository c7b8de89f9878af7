"""A database of its own, for tests that do to it what must not be done to the one all tests share."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.test import override_settings

from tests.cast import find_cast, make_cast
from tests.conftest import QUICK
from tests.training.scratch import back_up_cast, database_of_its_own


@pytest.fixture(scope="session")
def cast_backup(django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup of the cast, made once."""
    with django_db_blocker.unblock(), override_settings(PASSWORD_HASHERS=QUICK):
        if find_cast() is None:
            make_cast()
        return back_up_cast(tmp_path_factory.mktemp("backup") / "cast.zip")


@pytest.fixture
def scratch(cast_backup: Path, db: None, tmp_path: Path) -> Iterator[Any]:
    """A connection to a database of its own with the cast in it."""
    with database_of_its_own(cast_backup, tmp_path) as site:
        yield site
