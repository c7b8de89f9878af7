"""Another's ids and ids that were never issued are answered alike: same status, same words, same headers."""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator
from random import Random
from typing import Any

import pytest

from tests.access.addresses import address, names_in, patterns
from tests.access.asking import Asker, body_of
from tests.access.expected import ANYBODY, TABLE, expected
from tests.access.test_matrix import BY_ALL
from tests.access.world import World

EACH = 500
WHO = ("supervisor", "administrator", "educator", "mother")
_OURS = re.compile(rb"csrfmiddlewaretoken\" value=\"\w+\"|data-seconds=\"\d+\"")


def others(world: World) -> dict[str, list[Any]]:
    """What exists and is not the hospital's first family's, by the name it has in an address."""
    south, north = world.south, world.north
    members = [south.home.educator, south.home.supervisor, south.home.administrator, south.home.auditor]
    families = [*south.families.values(), *south.received.values()]
    return {
        "family": [f.public_id for f in families],
        "caregiver": [c.public_id for s in (south, north) for c in s.people.values() if c.family != north.families[1]],
        "member": [m.public_id for m in members],
        "draft": [south.draft.public_id, south.second_draft.public_id],
        "programme": [south.programme.public_id],
        "offer": [north.waiting.public_id, south.answered.public_id],
        "passkey": [south.passkey],
    }


def never(name: str, draw: Random) -> Any:
    return draw.randrange(10**6, 10**9) if name == "passkey" else uuid.UUID(int=draw.getrandbits(128), version=4)


def tries(world: World) -> Iterator[tuple[str, ...]]:
    """Actor, method, the address with another's id in it, the same with one that was never issued, and both ids.

    Only who would be let in with an id of their own is asked, so that the id alone decides.
    """
    draw, found = Random(5), others(world)
    for name, pattern in patterns().items():
        for part in sorted(names_in(pattern) & found.keys()):
            if TABLE[name][0] == ANYBODY:
                continue
            for their in found[part]:
                if is_own(world, name, part, their):
                    continue
                unknown = never(part, draw)
                for who, method in ways_in(name):
                    ours, nobody_s = (address(world.north, name, **{part: one}) for one in (their, unknown))
                    yield who, method, ours, nobody_s, str(their), str(unknown)


def is_own(world: World, name: str, part: str, their: Any) -> bool:
    """The address is about one of the hospital's other families; the id is at home there."""
    asked = address(world.north, name)
    here = (c.public_id for c in world.north.people.values() if str(c.family.public_id) in asked)
    return str(their) in asked or their in here or (name, part) == ("offer-withdraw", "offer")


def ways_in(name: str) -> list[tuple[str, str]]:
    return [(who, m) for m in BY_ALL for who in WHO if expected(name, m, who) in (200, 302, 400)][:2]


def read(answer: Any, its_id: str) -> tuple[int, bytes, dict[str, str]]:
    """What is answered, but for the id, the page's token and the clock."""
    body = _OURS.sub(b"", body_of(answer)).replace(its_id.encode(), b"ID")
    kept = {k: v.replace(its_id, "ID") for k, v in answer.headers.items() if k not in ("Date", "Content-Length")}
    return answer.status_code, body, kept


@pytest.fixture
def sample(world: World) -> list[tuple[str, ...]]:
    every = list(tries(world))
    assert len(every) >= EACH, f"only {len(every)}"
    return Random(7).sample(every, EACH)


def test_another_s_ids_and_ids_never_issued_are_answered_alike(world: World, sample: list[tuple[str, ...]]):
    askers = {who: Asker(world, who) for who in WHO}
    different, statuses = [], set()
    for who, method, theirs, nobody_s, their, unknown in sample:
        one = read(askers[who].ask(method, theirs), their)
        other = read(askers[who].ask(method, nobody_s), unknown)
        statuses.add(one[0])
        if one != other:
            different.append((who, method, theirs, one[0], other[0]))
    print(f"access: {EACH} foreign and {EACH} never-issued ids, answered with {sorted(statuses)}")  # noqa: T201

    assert different == []
    assert statuses <= {302, 404}  # 302: to the second factor's proof, before any key is looked for


# In what is sent ----------------------------------------------------------------------------------------------


def as_sent(world: World, ids: dict[str, str]) -> dict[str, Any]:
    return {
        "intent": str(uuid.UUID(int=1)),
        "author": world.north.educator.observer_id,
        "family": ids["family"],
        "caregiver": ids["caregiver"],
        "data": {"purpose": "assessment", "on": "2026-05-14", "time": "09:30:20", "skill": "hands", "edition": 1},
    }


def test_from_a_device(world: World):
    asker = Asker(world, "educator")
    own = {"family": str(world.north.families[1].public_id), "caregiver": world.north.people["mother 1"].case_id}
    theirs = {"family": str(world.south.families[1].public_id), "caregiver": world.south.people["mother 1"].case_id}
    nobody_s = {"family": str(uuid.uuid4()), "caregiver": str(uuid.uuid4())}

    def said(ids: dict[str, str]) -> Any:
        answer = asker.ask("POST", "/bedside/arrive/", as_sent(world, ids), content_type="application/json")
        return answer.status_code, re.sub(rb"[0-9a-f-]{36}", b"ID", body_of(answer))

    for part in ("family", "caregiver"):
        assert said({**own, part: theirs[part]}) == said({**own, part: nobody_s[part]}), part
    assert said(theirs) == said(nobody_s)


@pytest.mark.parametrize(
    ("name", "field", "what"),
    [
        ("hold-new", "caregiver", "caregiver"),
        ("recheck-new", "caregiver", "caregiver"),
        ("withdrawal-new", "caregiver", "caregiver"),
        ("certificate-new", "caregiver", "caregiver"),
        ("signature-new", "caregiver", "caregiver"),
        ("accepted-new", "caregiver", "caregiver"),
        ("appointment-new", "caregiver", "caregiver"),
        ("event-new", "who", "caregiver"),
        ("appointment-new", "who", "member"),
        ("family-new", "programme", "programme"),
        ("qualify-many", "observers", "member"),
        ("offer-accept", "programme", "programme"),
        ("place", "place", "caregiver"),
        ("place", "place", "member"),
    ],
)
def test_in_a_field(world: World, name: str, field: str, what: str):
    asker = Asker(world, "supervisor")
    for their in others(world)[what]:
        unknown = never(what, Random(3))
        one, other = (asker.ask("POST", address(world.north, name), {field: str(i)}) for i in (their, unknown))
        assert read(one, str(their))[:2] == read(other, str(unknown))[:2]
