"""The same input gives the same number and the same bytes, and what is given out is registered."""

from __future__ import annotations

import hashlib
from datetime import timedelta

import pytest
import time_machine
from django.db import DatabaseError, transaction

from tests.cast import NOW, show, sign_off_suction
from tests.training.issuing.conftest import checklist_of, number_in, packet_of
from training.issuing.models import Document
from training.issuing.numbers import number_of, number_typed
from training.log.models import Entry

DAY = "?on=2026-05-14"


@pytest.mark.parametrize("what", ["packet", "checklist"])
def test_a_reprint_after_nothing_changed_is_the_same(cast, fetch, what):
    north = cast.north
    address = packet_of(north.family, DAY) if what == "packet" else checklist_of(north.mother, DAY)
    first = fetch(north.educator, address)
    with time_machine.travel(NOW + timedelta(hours=3), tick=False):
        assert fetch(north.supervisor, address) == first

    document = Document.objects.get()
    assert (document.number, document.sha256) == (number_in(first), hashlib.sha256(first).hexdigest())


def test_a_record_makes_another_one(cast, fetch):
    first = number_in(fetch(cast.north.educator, packet_of(cast.north.family, DAY)))
    show(cast.north, cast.north.mother, "hands", NOW.date() - timedelta(days=1))

    assert number_in(fetch(cast.north.educator, packet_of(cast.north.family, DAY))) != first


def test_a_checklist_is_not_moved_by_a_demonstration(cast, fetch):
    first = fetch(cast.north.educator, checklist_of(cast.north.mother, DAY))
    sign_off_suction(cast.north, cast.north.mother)

    assert fetch(cast.north.educator, checklist_of(cast.north.mother, DAY)) == first


@pytest.mark.parametrize("query", ["?on=2026-05-13", "?on=2026-05-14&size=letter"])
def test_another_day_or_paper_is_another_document(cast, fetch, query):
    addresses = packet_of(cast.north.family, DAY), packet_of(cast.north.family, query)
    numbers = {number_in(fetch(cast.north.educator, address)) for address in addresses}

    assert len(numbers) == 2


def test_each_time_is_logged_as_a_read(cast, fetch):
    for _time in range(2):
        fetch(cast.north.educator, packet_of(cast.north.family, DAY))

    assert [(e.kind, e.view, e.about_name) for e in Entry.objects.filter(kind="read")] == [
        ("read", "packet", "Okonjo-Lind")
    ] * 2


def test_a_row_is_never_changed(cast, fetch):
    fetch(cast.north.educator, packet_of(cast.north.family, DAY))
    for deed in (lambda: Document.objects.update(kind="x"), lambda: Document.objects.all().delete()):
        with pytest.raises(DatabaseError), transaction.atomic():
            deed()


def test_a_number_needs_the_sites_key(settings):
    before = number_of({"a": 1})
    settings.SECRET_KEY = "another" * 8

    assert number_of({"a": 1}) != before


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("7K3M-PQ9X-2DFA", "7K3M-PQ9X-2DFA"),
        (" 7k3m pq9x 2dfa ", "7K3M-PQ9X-2DFA"),
        ("7K3M\u2013PQ9X\u20132DFA.", "7K3M-PQ9X-2DFA"),
        ("7K3M-PQ9X-2DF", ""),
        ("7K3M-PQ9X-2DF0", ""),
        ("", ""),
    ],
)
def test_a_number_is_read_however_it_is_typed(text, number):
    assert number_typed(text) == number
