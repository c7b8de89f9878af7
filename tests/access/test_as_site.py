"""The matrix once more as the site's own role on PostgreSQL, with the Python filter switched off: the database decides."""

from __future__ import annotations

from typing import Any

import pytest
from django.apps import apps

from tests.access.addresses import address
from tests.access.asking import ELSEWHERE, Asker
from tests.access.crawl import TOKEN, words_of
from tests.access.expected import OBJECT, OWN, TABLE, expected
from tests.access.test_canary import allowed
from tests.access.test_matrix import BY_ALL
from tests.access.world import World
from tests.training.tenancy.site_role import as_site_role, on_postgres

pytestmark = on_postgres
OUTSIDERS = (*ELSEWHERE, "caregiver elsewhere", "stranger", "ended", "visitor")
# An offer is both sides' row: whoever made it may read it whatever the page, so here only the words are looked at.
BOTH_SIDES = ("offer", "offer-accept", "offer-decline")


@pytest.fixture
def unfiltered(world: World, monkeypatch: pytest.MonkeyPatch) -> World:
    """Every `visible_to` gives everything."""
    for model in apps.get_models():
        rows = type(model._default_manager.all())
        if hasattr(rows, "visible_to"):
            monkeypatch.setattr(rows, "visible_to", lambda self, member: self.all())
    return world


def ask(asker: Asker, method: str, asked: str) -> Any:
    with as_site_role():
        return asker.ask(method, asked)


@pytest.mark.parametrize("actor", OUTSIDERS)
def test_nobody_else_gets_in(unfiltered: World, actor: str):
    world, may = unfiltered, allowed(unfiltered, actor)
    asker, wrong, cells = Asker(world, actor), {}, 0
    for name in TABLE:
        for method in BY_ALL:
            answer = ask(asker, method, address(world.north, name))
            read = sorted({t for t in TOKEN.findall(words_of(answer)) if not may(t)})
            cells += 1
            held = name in BOTH_SIDES or answer.status_code == expected(name, method, actor)
            if read or not held:
                wrong[name, method] = answer.status_code, read
    print(f"access: {cells} cells as the site's role, unfiltered ({actor})")  # noqa: T201

    assert wrong == {}


@pytest.mark.parametrize("actor", ["educator", "supervisor", "administrator", "auditor", "mother"])
def test_nobody_of_the_hospital_reads_the_agency(unfiltered: World, actor: str):
    world, may = unfiltered, allowed(unfiltered, actor)
    asker, wrong = Asker(world, actor), {}
    for side in (world.north, world.south):
        for name, (kind, _statuses) in TABLE.items():
            answer = ask(asker, "GET", address(side, name))
            read = sorted({t for t in TOKEN.findall(words_of(answer)) if not may(t) and t[2] == "S"})
            is_theirs = side is world.south and kind in (OBJECT, OWN) and name not in BOTH_SIDES
            if read or (is_theirs and answer.status_code != 404):
                wrong[side.letter, name] = answer.status_code, read

    assert wrong == {}


@pytest.mark.parametrize("actor", ["supervisor elsewhere", "mother"])
def test_with_the_filter_everything_works_as_the_site_s_role(world: World, actor: str):
    asker = Asker(world, actor)
    cells = [(name, method) for name in TABLE for method in BY_ALL]
    found = {c: ask(asker, c[1], address(world.north, c[0])).status_code for c in cells}

    assert {c: s for c, s in found.items() if s != expected(*c, actor)} == {}
