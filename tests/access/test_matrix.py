"""Every address of the resolver x method x actor, and again by the state of what it is about."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.urls import reverse

from tests.access.addresses import OF_RECEIVED, address, names_in, patterns
from tests.access.asking import ACTORS, AT_HOME, ELSEWHERE, Asker
from tests.access.expected import NOT_KNOWN, OBJECT, OWN, TABLE, at_home, expected
from tests.access.world import World
from training.people.models import Assignment, Organisation
from training.records.models import Record

BY_ALL = ("GET", "POST")
THE_REST = ("HEAD", "OPTIONS", "PUT", "DELETE", "PATCH")
FOR_THE_REST = ("supervisor", "supervisor elsewhere", "other", "visitor")
SHUT = {302, 403, 404, 405}
NO_SUCH_DEED = {302, 403, 404}  # what staff at home get for a record in a state in which the deed cannot be done
OF_RECORDS = (*AT_HOME, "supervisor elsewhere", "mother", "father", "stranger", "visitor")


def count(cells: int, what: str) -> None:
    """Seen with -s, and in the captured output of a failure."""
    print(f"access: {cells} cells ({what})")  # noqa: T201


def test_every_address_has_a_row():
    assert set(patterns()) == set(TABLE)


@pytest.mark.parametrize("actor", ACTORS)
def test_every_address_by_get_and_post(world: World, actor: str):
    asker = Asker(world, actor)
    cells = [(name, method) for name in patterns() for method in BY_ALL]
    found = {c: asker.ask(c[1], address(world.north, c[0])).status_code for c in cells}
    count(len(cells), actor)

    assert {c: s for c, s in found.items() if s != expected(*c, actor)} == {}


def test_how_many_cells_there_are():
    whole = len(patterns()) * (len(BY_ALL) * len(ACTORS) + len(THE_REST) * len(FOR_THE_REST))
    count(whole, "addresses x methods x actors, states not counted")

    assert whole > 7000


@pytest.mark.parametrize("actor", FOR_THE_REST)
def test_every_address_by_every_other_method(world: World, actor: str):
    """No way round: who is shut out by GET and POST is shut out by these, and nothing is written by any of them."""
    asker, before = Asker(world, actor), Record.objects.count()
    found = {}
    for name in patterns():
        shut = {expected(name, m, actor) for m in BY_ALL} <= SHUT and TABLE[name][0] != "anybody"
        for method in THE_REST:
            status = asker.ask(method, address(world.north, name)).status_code
            if status >= 500 or (shut and status not in SHUT and method != "OPTIONS"):
                found[name, method] = status
    count(len(patterns()) * len(THE_REST), actor)

    assert (found, Record.objects.count()) == ({}, before)


# By the state of what it is about ---------------------------------------------------------------------------


def of_a_family() -> Iterator[str]:
    """The addresses about a family or a caregiver in it that need no record of a kind."""
    for name, pattern in patterns().items():
        if "family" in names_in(pattern) and not names_in(pattern) & {"number", "offer"} and name not in OF_RECEIVED:
            yield name


def in_family(world: World, name: str, number: int) -> str:
    side = world.north
    family, mother = side.families[number], side.people[f"mother {number}"]
    return address(side, name, family=family.public_id, caregiver=mother.public_id)


@pytest.mark.parametrize("state", [3, 4], ids=["closed", "handed over"])
@pytest.mark.parametrize("actor", [*AT_HOME, *ELSEWHERE, "mother", "stranger", "visitor"])
def test_a_family_in_another_state_is_nobody_else_s_either(world: World, actor: str, state: int):
    asker, wrong, cells = Asker(world, actor), {}, 0
    for name in of_a_family():
        for method in BY_ALL:
            status = asker.ask(method, in_family(world, name, state)).status_code
            cells += 1
            if actor in AT_HOME:
                if status >= 500 or (at_home(TABLE[name][1][method], actor) == 403) != (status == 403):
                    wrong[name, method] = status
            elif status != expected(name, method, actor):
                wrong[name, method] = status
    count(cells, f"{actor}, state {state}")

    assert wrong == {}


def test_the_agency_s_new_file_is_the_agency_s_alone(world: World):
    """Who handed the family over does not see what is written there; and the other way round."""
    asker, wrong = Asker(world, "supervisor"), {}
    family, mother = world.south.received[5], world.south.people["received 5"]
    for name in (*of_a_family(), *OF_RECEIVED - {"handover-record"}):
        asked = address(world.south, name, family=family.public_id, caregiver=mother.public_id)
        for method in BY_ALL:
            status = asker.ask(method, asked).status_code
            if status != 404:
                wrong[name, method] = status

    assert wrong == {}


@pytest.mark.parametrize("kind", ["signed", "voided", "void", "his", "disputed", "override", "exception", "own hold"])
@pytest.mark.parametrize("actor", OF_RECORDS)
def test_a_record_in_any_state(world: World, kind: str, actor: str):
    asker, number = Asker(world, actor), world.north.records[kind].number
    names = ("record", "void-new", "resolution-new", "override-new", "pause-end", "mine-say")
    found = {}
    for name in names:
        status = asker.ask("GET", address(world.north, name, number=number)).status_code
        as_ever = expected(name, "GET", actor)
        if status != as_ever and not (as_ever in (200, 403) and status in NO_SUCH_DEED):
            found[name] = status
    count(len(names), f"{actor}, {kind}")

    assert found == {}


@pytest.mark.parametrize("name", [n for n in TABLE if n.startswith("draft") and n != "drafts-sign"])
def test_a_draft_is_its_author_s_alone(world: World, name: str):
    asked = address(world.north, name)
    found = {a: [Asker(world, a).ask(m, asked).status_code for m in BY_ALL] for a in ACTORS if a != "educator"}

    assert {a: s for a, s in found.items() if not set(s) <= SHUT or (a not in NOT_KNOWN and 302 in s)} == {}


# Families assigned ------------------------------------------------------------------------------------------


def test_where_families_are_assigned_an_educator_finds_no_other(world: World):
    Organisation.objects.filter(pk=world.north.home.organisation.pk).update(assigned_only=True)
    Assignment.objects.filter(member=world.north.educator).update(until=world.north.draft.started_at)
    asker, wrong = Asker(world, "educator"), {}
    about = [n for n in TABLE if "family" in names_in(patterns()[n]) or n.startswith("draft")]
    for name in about:
        for method in BY_ALL:
            status = asker.ask(method, address(world.north, name)).status_code
            if status not in (404, 403) or (status == 403 and at_home(TABLE[name][1][method], "educator") != 403):
                wrong[name, method] = status
    count(2 * len(about), "an educator to whom nothing is assigned")

    assert wrong == {}
    assert asker.ask("GET", reverse("open-now")).status_code == 200


# The second organisation's point of view --------------------------------------------------------------------


@pytest.mark.parametrize("actor", ["educator", "supervisor", "administrator", "auditor", "mother", "other"])
def test_and_the_other_way_round(world: World, actor: str):
    """The hospital's people at the agency's addresses."""
    asker, wrong = Asker(world, actor), {}
    for name, (kind, _statuses) in TABLE.items():
        if kind not in (OBJECT, OWN):
            continue
        for method in BY_ALL:
            status = asker.ask(method, address(world.south, name)).status_code
            if status != 404:
                wrong[name, method] = status

    assert wrong == {}
