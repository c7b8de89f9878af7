"""Two members accept in many tabs at once, while the hospital takes the offer back: one end, and at most one file."""

from __future__ import annotations

import threading
import uuid
from concurrent.futures import ThreadPoolExecutor

import pytest
from django.db import connection

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, find_cast, make_cast
from training.handover import deeds
from training.handover.models import Offer
from training.handover.summary import summary_of
from training.people.models import Family, Member
from training.records.models import Record
from training.standing.file import open_file
from training.standing.questions import FamilyOn

AT_ONCE = 12


@pytest.fixture
def cast(guards_lifted, now):
    """In the database itself, not in a transaction that is rolled back."""
    return find_cast() or make_cast()


def make_offer(cast):
    return deeds.offer_family(
        family=cast.north.family,
        to=cast.south.organisation,
        reason="x",
        home_on=None,
        note="",
        shown=summary_of(FamilyOn(open_file(cast.north.family), TODAY)),
        by=cast.north.supervisor,
        intent=uuid.uuid4(),
        at=NOW,
    )


def at_once(deeds_done):
    """The results of these calls, begun together, each on a connection of its own."""
    gate = threading.Barrier(len(deeds_done))

    def run(deed):
        try:
            gate.wait(timeout=60)
            return deed()
        except (deeds.OfferEndedError, RefusedError) as refusal:
            return refusal
        finally:
            connection.close()

    with ThreadPoolExecutor(len(deeds_done)) as threads:
        return list(threads.map(run, deeds_done))


def accepting(cast, offer, member):
    return lambda: deeds.accept(offer=Offer.objects.get(pk=offer.pk), programme=cast.south.programme, by=member, at=NOW)


def test_two_members_in_many_tabs_make_one_file(cast):
    offer = make_offer(cast)
    members = [cast.south.supervisor, Member.objects.get(pk=cast.south.educator.pk)]
    found = at_once([accepting(cast, offer, members[n % 2]) for n in range(AT_ONCE)])

    assert len({family.pk for family in found}) == 1
    assert Family.objects.filter(organisation=cast.south.organisation).count() == 3
    assert Record.objects.of_chain(cast.north.family.public_id).filter(kind="offer_accepted").count() == 1


def test_taken_back_and_accepted_at_once_it_has_one_end(cast):
    offer = make_offer(cast)
    calls = [accepting(cast, offer, cast.south.supervisor) for _ in range(AT_ONCE // 2)]
    calls += [
        lambda: deeds.withdraw(offer=Offer.objects.get(pk=offer.pk), reason="x", by=cast.north.supervisor, at=NOW)
        for _ in range(AT_ONCE // 2)
    ]
    at_once(calls)
    offer.refresh_from_db()
    kinds = [r.kind for r in Record.objects.of_chain(cast.north.family.public_id) if r.kind.startswith("offer_")]

    assert kinds == [f"offer_{offer.ended}"]
    assert (offer.made is not None) == (offer.ended == "accepted")


def test_offered_in_many_tabs_it_waits_once(cast):
    found = at_once([lambda: make_offer(cast) for _ in range(AT_ONCE)])

    assert sum(isinstance(one, Offer) for one in found) == 1
    assert Offer.objects.count() == 1
