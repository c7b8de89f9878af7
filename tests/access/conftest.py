"""One world for each module of this room; what a test does in it is taken back."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine

from tests.access.world import World, a_world
from tests.cast import NOW


@pytest.fixture(scope="module")
def whole_world(django_db_setup: None, django_db_blocker: Any) -> Iterator[World]:
    with django_db_blocker.unblock(), a_world() as world:
        yield world


@pytest.fixture
def world(whole_world: World, db: None) -> Iterator[World]:
    with time_machine.travel(NOW, tick=False):
        yield whole_world
