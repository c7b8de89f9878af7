"""A bulk recheck while the observer signs in one more family: it waits, looks again, and is refused."""

from __future__ import annotations

import threading
import uuid
from datetime import timedelta

import pytest
from django.db import transaction

from tests.cast import NOW, TODAY, Cast, demonstration, find_cast, make_cast, show
from tests.training.test_publishing import fresh
from tests.training.test_publishing_at_once import at_once
from training.records.models import Record
from training.standing import deeds
from training.standing.rechecking import ListMovedError, recheck_many, signed_by_observer

A_WHILE = 3  # seconds in which a recheck that waits for nobody is long done
REASON = "The observer’s own sign-off was out."


@pytest.fixture
def standing_cast(guards_lifted: None) -> Cast:
    """The cast in a database that other threads see."""
    return find_cast() or make_cast()


def test_a_family_first_touched_after_the_list_is_not_missed(standing_cast):
    north = standing_cast.north
    one, other = north.families
    show(north, north.mother, "hands", TODAY - timedelta(days=2))
    seen, rechecked = threading.Event(), threading.Event()

    def find():
        return signed_by_observer(north.supervisor, north.educator, TODAY - timedelta(days=30), TODAY, NOW)

    shown = find()
    assert {touched.family for touched in shown.touched} == {one}

    def see():
        father = other.caregivers.get(relation="father")
        body = demonstration(father, "hands", TODAY, north.educator)
        with transaction.atomic():
            deeds.record(
                family=fresh(other), kind="demonstration", body=body, by=north.educator, intent=uuid.uuid4(), at=NOW
            )
            seen.set()
            rechecked.wait(A_WHILE)

    def recheck():
        seen.wait(10)
        try:
            recheck_many(
                find=find, shown=shown.digest(REASON), reason=REASON, by=north.supervisor, intent=uuid.uuid4(), at=NOW
            )
        finally:
            rechecked.set()

    saw, refused = at_once(see, recheck)

    assert saw is None
    assert isinstance(refused, ListMovedError), refused
    assert not Record.objects.filter(organisation=north.organisation, kind="recheck").exists()
    assert {touched.family for touched in find().touched} == {one, other}


def test_the_same_post_at_the_same_moment_is_one_deed(standing_cast):
    north = standing_cast.north
    show(north, north.mother, "hands", TODAY - timedelta(days=2))

    def find():
        return signed_by_observer(north.supervisor, north.educator, TODAY - timedelta(days=30), TODAY, NOW)

    shown, intent = find().digest(REASON), uuid.uuid4()

    def recheck():
        return recheck_many(find=find, shown=shown, reason=REASON, by=north.supervisor, intent=intent, at=NOW)

    found = at_once(recheck, recheck)

    assert [[record.number for record in made] for made in found] == [[r.number for r in found[0]]] * 2
    assert Record.objects.filter(organisation=north.organisation, kind="recheck").count() == 1
