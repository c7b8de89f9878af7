"""What a packet tells of the past: every span through time, who recorded, and everything corrected or written late."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import pytest

from tests.cast import NOW, TODAY
from tests.training.pages.family.conftest import story  # noqa: F401 - a fixture
from training.documents.packet_of import packet_of
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def made(family, day=TODAY):
    return packet_of(
        FamilyOn(open_file(family), day),
        known_at=NOW,
        standing_word=lambda standing, pause: str(standing).replace("_", " "),
        verdict_word=str,
        outcome_word=str,
    )


@pytest.fixture
def packet(story):  # noqa: F811
    return made(story.north.family)


def line(packet, who, title):
    return next(x for b in packet.bands if b.name.startswith(who) for x in b.lines if x.title == title)


def test_a_band_is_told_in_words_with_its_dates(packet):
    said = line(packet, "Marit", "Suctioning").said

    assert said.startswith("Not started from 2 Mar 2026 through ")
    assert "signed off from 4 May 2026 through 4 Nov 2026; lapsed from 5 Nov 2026." in said


def test_a_band_touches_and_is_cut_at_the_day(packet):
    pieces = line(packet, "Marit", "Suctioning").pieces
    now = packet.bands[0].now

    assert all(a.end == pytest.approx(b.start) for a, b in pairwise(pieces))
    assert [p.ahead for p in pieces] == [p.start >= now for p in pieces]
    assert pieces[-1].end == pytest.approx(1.0)


def test_the_picture_goes_from_the_first_span_to_half_a_year_ahead(packet):
    assert (packet.bands[0].first, packet.bands[0].last) == (date(2026, 3, 1), date(2026, 11, 30))


def test_long_histories_have_few_labels(story):  # noqa: F811
    far = made(story.north.family, date(2046, 5, 14))

    assert len(far.bands[0].ticks) <= 14


def test_before_a_care_plan_there_is_no_band(story):  # noqa: F811
    early = made(story.north.family, date(2026, 2, 1))

    assert all(x.pieces == () or x.pieces[0].ahead for b in early.bands for x in b.lines)


def test_whoever_signed_is_counted(packet):
    assert sum(x.records for x in packet.recorders) == len(packet.signatures)
    assert {(x.name, x.role) for x in packet.recorders} == {(x.name, x.role) for x in packet.signatures}


def test_a_void_is_marked_with_who_and_why(packet, story):  # noqa: F811
    (voided,) = [x for x in packet.origins if x.how == "Voided"]

    assert (voided.number, voided.why) == (story.wrong.number, "Wrong person")
    assert voided.by == story.north.supervisor.signed_name
    assert voided.on == TODAY - timedelta(days=1)


def test_the_programme_and_its_chain_are_named(packet, story):  # noqa: F811
    assert packet.programme
    assert packet.programme_head == story.north.programme.version
