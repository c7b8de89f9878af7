"""A token of its own in every text of every family, and everything that an actor can read looked through for it."""

from __future__ import annotations

import logging
import re
from collections.abc import Callable

import pytest
from django.core import mail

from tests.access.addresses import address
from tests.access.asking import ACTORS, AT_HOME, ELSEWHERE, Asker, user_of
from tests.access.crawl import TOKEN, crawl, words_of
from tests.access.side import Side
from tests.access.world import World
from tests.cast import TODAY
from tests.training.kept import keep

EVERYBODY = (*ACTORS, "closed family")
FILE_NAME = re.compile(r"filename[^;'\"]*[\"']([^\"']*)")
CAREGIVERS = {
    # whose eyes: of which family, and which texts of it
    "mother": ("N", 1, "mp"),
    "father": ("N", 1, "fp"),
    "other": ("N", 2, "mp"),
    "caregiver elsewhere": ("S", 1, "mp"),
    "closed family": ("N", 3, "mp"),
}


def allowed(world: World, actor: str) -> Callable[[str], bool]:
    """Which tokens this actor may read."""
    user = user_of(world, actor)
    own = set(TOKEN.findall(user.full_name)) if user else set()
    if actor in AT_HOME:
        return lambda t: t in own or _staff(t, world.north, world.south, is_author=actor == "educator")
    if actor in ELSEWHERE:
        return lambda t: t in own or _staff(t, world.south, world.north, is_author=actor == "educator elsewhere")
    if actor in CAREGIVERS:
        letter, family, eyes = CAREGIVERS[actor]
        names = _signers(world.north if letter == "N" else world.south)
        return lambda t: t in own | names or (t[2] == letter and t[3] == str(family) and t[4] in eyes)
    return own.__contains__


def _staff(token: str, here: Side, there: Side, *, is_author: bool) -> bool:
    """Of their own organisation all but another's drafts; of the other one what was handed over or offered."""
    letter, family, eyes = token[2], int(token[3]), token[4]
    if letter == here.letter:
        return is_author or eyes != "d"
    if family in (4, 5):
        return True
    offered = token == there.families[2].patient_called or eyes == "o"
    return (family == 2 and offered) or token in _signers(there)


def _signers(side: Side) -> set[str]:
    """The names under an offer, and in what was handed over or signed for a family."""
    return {t for who in (side.home.educator, side.home.supervisor) for t in TOKEN.findall(who.user.full_name)}


@pytest.fixture
def lines(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Every line that the site's own handlers would write, as they would write it."""
    found: list[str] = []
    for handler in logging.getLogger().handlers:
        monkeypatch.setattr(handler, "emit", lambda record, h=handler: found.append(h.format(record)))
    return found


def look(world: World, actor: str, at_most: int, lines: list[str]) -> None:
    """Crawl, and name every place where somebody else's words stand."""
    read, may = crawl(world, actor, at_most), allowed(world, actor)
    print(f"access: {len(read)} answers read as {actor}")  # noqa: T201
    hits = {where: sorted({t for t in TOKEN.findall(words) if not may(t)}) for where, words in read.items()}

    assert {where: tokens for where, tokens in hits.items() if tokens} == {}
    assert [where for where in read if TOKEN.search(where)] == []  # nothing personal in an address
    assert [line for line in lines if TOKEN.search(line)] == []
    assert mail.outbox == []
    assert lines  # the site did write lines: what was refused
    names = {n for words in read.values() for n in FILE_NAME.findall(words)}
    assert [n for n in names if TOKEN.search(n) and not n.startswith("Packet ")] == []  # a packet is the family's own


@pytest.mark.parametrize("actor", EVERYBODY)
def test_nobody_reads_what_is_not_theirs(world: World, actor: str, lines: list[str]):
    look(world, actor, 60, lines)


@pytest.mark.long
@pytest.mark.parametrize("actor", EVERYBODY)
def test_nobody_comes_upon_it_however_long_they_look(world: World, actor: str, lines: list[str]):
    look(world, actor, 2000, lines)


@pytest.mark.parametrize("kind", ["signed", "void", "his", "exception", "event", "stay", "appointment", "override"])
def test_staff_read_what_is_theirs(world: World, kind: str):
    """Else the tests above would prove nothing: each record's own words are on its page."""
    record = world.north.records[kind]
    words = words_of(Asker(world, "auditor").ask("GET", address(world.north, "record", number=record.number)))
    written = set(TOKEN.findall(bytes(record.body).decode()))

    assert written
    assert written - set(TOKEN.findall(words)) == set()


def test_a_caregiver_reads_what_is_theirs(world: World):
    seen = {t[:5] for words in crawl(world, "mother", 60).values() for t in TOKEN.findall(words)}

    assert seen >= {"QXN1m", "QXN1p"}


def test_who_agreed_is_named_to_the_others(world: World):
    """And only then: without his agreement the father's name is nowhere above."""
    father = world.north.people["father 1"]
    keep(father, father.family, "agreement", caregiver=father.case_id, agreed=True, on=TODAY.isoformat())
    page = words_of(Asker(world, "mother").ask("GET", address(world.north, "mine-family")))

    assert father.called in page
    assert {t for t in TOKEN.findall(page) if t[4] in "st"} == set()
