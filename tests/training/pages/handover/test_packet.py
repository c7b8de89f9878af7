"""The hand-over packet from both sides: what was seen, whose it is, and that nothing of it counts yet."""

from __future__ import annotations

from io import BytesIO

import page
import pytest
from pypdf import PdfReader

from tests.cast import TODAY, show, sign_off_suction
from tests.training.pages.family.conftest import of
from training.handover.models import Offer
from training.records.models import Record

ALREADY = "Nothing on this paper is a sign-off with you."


def bytes_of(answer):
    assert answer.status_code == 200
    return b"".join(answer.streaming_content)


def words(data):
    return " ".join(" ".join(p.extract_text() for p in PdfReader(BytesIO(data)).pages).split())


@pytest.fixture
def here(north, offer, signed_in):
    """The offering side's, with one skill signed off."""

    def get(query=""):
        sign_off_suction(north, north.mother)
        show(north, north.father, "hands", TODAY, reteach={"line": "Rinse longer.", "on": None})
        offer()
        return bytes_of(signed_in(north.educator).get(of(north.family, "handover-packet") + query))

    return get


def test_it_says_what_was_offered_and_to_whom(here, south):
    told = words(here())

    assert f"to {south.organisation.title}." in told
    assert "Why: Going home near you" in told
    assert "Note: Nights first" in told
    assert "21 May 2026" in told


def test_nothing_counts_until_it_is_observed(here):
    told = words(here())

    assert ALREADY in told
    assert "Does not count until you take it over after your own check, through 4 November 2026" in told
    assert "Does not count. Not signed off here: teach it and have it shown." in told


def test_a_line_says_when_it_was_last_shown_and_what_is_taught_again(here, north):
    told = words(here())

    assert f"seen by {north.educator.signed_name}" in told
    assert "To teach again: Rinse longer." in told


def test_it_holds_the_heads_of_both_chains(here, north):
    told = words(here()).replace(" ", "")

    assert Record.objects.of_chain(north.family.public_id).last().digest in told
    assert north.programme.version in told


@pytest.mark.parametrize("query", ["", "?size=letter"])
def test_it_passes_the_checker(here, query):
    assert page.validate_pdf_bytes(here(query), profile="ua1").failures == []


def test_a_family_that_was_never_offered_has_none(north, signed_in):
    assert signed_in(north.educator).get(of(north.family, "handover-packet")).status_code == 404


def test_the_other_side_prints_it_of_the_file_it_kept(north, south, taken, signed_in):
    sign_off_suction(north, north.mother)
    family = taken()
    data = bytes_of(signed_in(south.educator).get(of(family, "handover-received")))
    head = Offer.objects.get(made=family).family

    assert page.validate_pdf_bytes(data, profile="ua1").failures == []
    assert ALREADY in words(data)
    assert f"From {north.organisation.title} to {south.organisation.title}." in words(data)
    assert f"seen by {north.educator.signed_name}" in words(data)
    assert "The kept file fits." in words(data)
    assert head.patient_name in words(data)


def test_it_stays_printable_where_the_family_was_handed_over(north, taken, signed_in):
    taken()

    assert ALREADY in words(bytes_of(signed_in(north.educator).get(of(north.family, "handover-packet"))))
