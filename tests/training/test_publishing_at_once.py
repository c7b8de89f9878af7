"""Two who publish in the same moment: one waits, and is judged by what the other has published."""

from __future__ import annotations

import threading
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from competency.fields import RefusedError
from competency.reading_programme import find_cycle
from tests.cast import NOW, Cast, demonstration, find_cast, make_cast
from tests.cast import TODAY as ON
from tests.training.test_publishing import FIRST, choice_of, draft_with, fresh, put_in_force
from training.standing import deeds
from training.standing.file import open_file, read_rules
from training.standing.models import CacheState
from training.standing.projecting import family_differences, programme_differences


@pytest.fixture
def standing_cast(guards_lifted: None) -> Cast:
    """The cast in a database that other threads see."""
    return find_cast() or make_cast()


def at_once(*acts: Callable[[], Any]) -> list[Any]:
    """Each act in a thread of its own, begun together; what it gave or raised."""
    begin, found = threading.Barrier(len(acts)), [None] * len(acts)

    def run(n: int, act: Callable[[], Any]) -> None:
        try:
            begin.wait(10)
            found[n] = act()
        except Exception as error:  # noqa: BLE001 - it is looked at below
            found[n] = error
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(n, act)) for n, act in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(60)
    return found


def test_two_halves_of_a_circle_are_not_both_published(standing_cast):
    north = standing_cast.north
    one = choice_of(draft_with(north, "hands", requires=[{"skill": "emergency"}]))
    other = choice_of(draft_with(north, "emergency", requires=[{"skill": "hands"}]))

    found = at_once(lambda: put_in_force(north, one), lambda: put_in_force(north, other))

    refusals = [one for one in found if isinstance(one, RefusedError)]
    assert len(refusals) == 1, found
    assert "go in a circle" in str(refusals[0])
    assert find_cycle(read_rules(north.programme), FIRST) == []
    assert list(programme_differences(north.programme.public_id)) == []


def test_a_deed_and_a_publication_leave_the_stored_spans_true(standing_cast):
    north, family = standing_cast.north, standing_cast.north.family
    choice = choice_of(draft_with(north, "hands", requires=[{"skill": "emergency"}]), older="recheck")
    body = demonstration(north.mother, "hands", ON, north.educator)
    stale = fresh(family)  # as a view has it: the programme was read before anybody published

    def show():
        return deeds.record(
            family=stale, kind="demonstration", body=body, by=north.educator, intent=uuid.uuid4(), at=NOW
        )

    found = at_once(show, lambda: put_in_force(north, choice))

    assert not [one for one in found if isinstance(one, Exception)], found
    assert list(family_differences(family.public_id)) == []
    assert CacheState.objects.get(family=family).programme_version == open_file(fresh(family)).programme.version
