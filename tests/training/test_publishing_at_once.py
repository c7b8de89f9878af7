"""Two who publish in the same moment: one waits, and is judged by what the other has published."""

from __future__ import annotations

import copy
import threading
import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection, transaction

from competency.fields import RefusedError
from competency.reading_programme import find_cycle
from tests.cast import NOW, Cast, demonstration, find_cast, make_cast
from tests.cast import TODAY as ON
from tests.training.test_publishing import FIRST, choice_of, draft_with, fresh, put_in_force
from training.curriculum.programme_file import plain, read_file
from training.curriculum.programme_text import written
from training.curriculum.published import published
from training.standing import deeds
from training.standing.cache import differing, state_of, worked_out
from training.standing.file import open_file, read_rules
from training.standing.importing import import_programme
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


A_WHILE = 3  # seconds in which an import that waits for nobody is long done


def test_an_import_waits_for_a_word_on_an_observer_and_leaves_the_spans_true(standing_cast):
    north, family = standing_cast.north, standing_cast.north.family
    stated, imported = threading.Event(), threading.Event()
    seen = demonstration(north.mother, "hands", ON, north.educator)
    deeds.record(family=fresh(family), kind="demonstration", body=seen, by=north.educator, intent=uuid.uuid4(), at=NOW)

    def state():
        with transaction.atomic():
            deeds.qualify(
                observer=north.educator,
                skill="hands",
                from_day=ON,
                through=None,
                by=north.supervisor,
                intent=uuid.uuid4(),
                at=NOW,
            )
            stated.set()
            imported.wait(A_WHILE)

    def bring_in():
        stated.wait(10)
        import_programme(organisation=north.organisation, file=_with_another_edition(north.programme), at=NOW)
        imported.set()

    found = at_once(state, bring_in)

    assert not [one for one in found if isinstance(one, Exception)], found
    file = open_file(fresh(family))
    assert file.staff_records[-1].data["skill"] == "hands"
    assert _state(family) == state_of(file)
    assert differing({family.pk: worked_out(file)}) == []


def _state(family):
    rows = CacheState.objects.filter(family=family)
    return rows.values_list("head", "programme_version", "qualifications_head", "form").get()


def _with_another_edition(programme):
    data = plain(published(programme))
    editions = next(skill["editions"] for skill in data["skills"] if skill["code"] == "hands")
    new = {"edition": editions[-1]["edition"] + 1, "in_force_from": FIRST.isoformat(), "older_sign_offs": "recheck"}
    editions.append(copy.deepcopy(editions[-1]) | new)
    return read_file(written(data))
