"""The family's copy: what is open is named, and nobody who is missing something."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import page
import pytest

from tests.cast import NOW, TODAY
from tests.training.pages.family.conftest import of, put, story  # noqa: F401 - a fixture
from training.documents.family_copy import LETTER, render_family_copy
from training.documents.family_copy_of import family_copy_of
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def made(family, day=TODAY):
    return family_copy_of(FamilyOn(open_file(family), day), known_at=NOW)


@pytest.fixture
def copy(story):  # noqa: F811
    return made(story.north.family)


@pytest.fixture
def words(copy, read):
    return read(render_family_copy(copy)).words


def test_no_caregiver_is_named(story, words):  # noqa: F811
    for caregiver in story.north.family.caregivers.all():
        assert caregiver.full_name not in words
        assert caregiver.full_name.split()[0] not in words


def test_nothing_that_staff_wrote_is_on_it(story, read):  # noqa: F811
    north = story.north
    put(north.supervisor, north.family, "hold", TODAY, caregiver=north.father.case_id, skill=None, on=TODAY.isoformat(),
        through=None, reason="Custody is before the court")  # fmt: skip
    words = read(render_family_copy(made(north.family))).words

    for kept in ("Custody", "Sent by post", "Wrong person", "Count aloud", "pause", "hold"):
        assert kept not in words


def test_no_fact_of_the_care_plan_is_on_it(copy, words):
    assert "5 mm" not in words
    assert "No cuff" not in words


def test_an_exception_has_its_last_day_and_whose_it_is(copy, story):  # noqa: F811
    (line,) = copy.allowed

    assert (line.covers, line.last_day) == ("Papers", TODAY + timedelta(days=5))
    assert line.by == f"{story.north.supervisor.signed_name}, supervisor"


def test_what_is_open_is_named(words):
    assert "Not everything is in place yet" in words
    assert "Not as many people are ready yet as the programme asks for." in words
    assert "Emergency kit checked Not done yet." in words
    assert "The clinical team decides discharge." in words


def test_before_a_care_plan_nothing_is_asked(story):  # noqa: F811
    copy = made(story.north.family, TODAY - timedelta(days=3000))

    assert (copy.verdict, copy.team_met, copy.skills, copy.since) == (None, None, (), "")


@pytest.mark.parametrize("verdict", ["ready", "ready_by_exception", "not_ready", None])
def test_it_passes_the_checker(copy, verdict):
    for size in (None, LETTER):
        paper = replace(copy, verdict=verdict, team_met=verdict == "ready", facts_missing=1)
        data = render_family_copy(paper, size) if size else render_family_copy(paper)
        assert page.validate_pdf_bytes(data, profile="ua1").failures == []
        assert data == (render_family_copy(paper, size) if size else render_family_copy(paper))


def test_its_address_gives_a_file_whose_name_names_nobody(story, signed_in):  # noqa: F811
    answer = signed_in(story.north.educator).get(of(story.north.family, "family-copy") + "?size=letter")

    assert answer["Content-Disposition"].startswith('attachment; filename="family-copy 2026-05-14 ')
    assert b"".join(answer.streaming_content)[:5] == b"%PDF-"
