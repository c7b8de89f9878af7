"""The remaining-skills sheet: the words of the caregiver's own page, and nobody else's name."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import page
import pytest

from tests.cast import NOW, TODAY
from tests.training.kept import appointment_body, keep
from tests.training.pages.family.conftest import of, story  # noqa: F401 - a fixture
from training.documents.remaining import A4, LETTER, render_remaining
from training.pages.caregiver.pages import OwnPage
from training.pages.caregiver.remaining import remaining_of
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def made(caregiver, day=TODAY):
    return remaining_of(FamilyOn(open_file(caregiver.family), day), caregiver, known_at=NOW)


def titles(shown):
    return [one.title for one in shown]


@pytest.fixture
def sheet(story):  # noqa: F811
    return made(story.north.mother)


def test_it_says_what_the_own_page_says(sheet, story):  # noqa: F811
    own = OwnPage(FamilyOn(open_file(story.north.family), TODAY), story.north.mother)

    assert titles(sheet.ready) == [p.cell.skill.plain for p in own.ready] != []
    assert titles(sheet.next) == [p.cell.skill.plain for p in own.next] != []
    assert titles(sheet.later) == [p.cell.skill.plain for p in own.later]
    assert set(titles(sheet.not_alone)) | set(titles(sheet.next)) == {p.cell.skill.plain for p in own.not_alone}
    assert [
        line for p, one in zip(own.next, sheet.next, strict=True) for line in p.needs if line not in one.lines
    ] == []


def test_a_last_day_and_what_to_do(sheet, read):
    words = read(render_remaining(sheet)).words

    assert "through 14" in words
    assert "with a nurse beside you" in words
    assert "In an emergency, call for help and do what you were taught." in words


def test_no_other_caregiver_and_no_staff_is_named(story, read):  # noqa: F811
    north = story.north
    plan = {"checks": north.educator.observer_id, "what": "Ask Ruta", "who": [north.mother.case_id]}
    keep(north.educator, north.family, "appointment", **appointment_body(north.father, **plan))
    sheet = made(north.mother)
    words = read(render_remaining(sheet)).words

    assert len(sheet.planned) == 1
    for name in (north.father.called, north.educator.signed_name, north.supervisor.signed_name, "Ruta"):
        assert name not in words


@pytest.mark.parametrize("word", ["failed", "lapsed", "withdrawn", "unsafe", "Count aloud", "Wrong person"])
def test_it_keeps_to_their_register(story, read, word):  # noqa: F811
    words = [read(render_remaining(made(c))).words for c in (story.north.mother, story.north.father)]

    assert [w for w in words if word in w] == []


def test_on_pause_nothing_is_asked(story):  # noqa: F811
    north = story.north
    keep(north.supervisor, north.family, "hold", caregiver=north.mother.case_id, skill=None, on=TODAY.isoformat(),
         through=None, reason="Custody")  # fmt: skip
    sheet = made(north.mother)

    assert [one.lines for one in sheet.next] == [()] * len(sheet.next)
    assert "Custody" not in repr(sheet)


def test_before_a_care_plan_it_says_so(story):  # noqa: F811
    sheet = made(story.north.mother, TODAY - timedelta(days=3000))

    assert (sheet.summary, sheet.ready, sheet.not_alone) == ("There is no care plan yet.", (), ())


@pytest.mark.parametrize("size", [A4, LETTER])
@pytest.mark.parametrize("patient", ["Ilse", ""])
def test_it_passes_the_checker(sheet, size, patient):
    data = render_remaining(replace(sheet, patient=patient), size)

    assert page.validate_pdf_bytes(data, profile="ua1").failures == []
    assert data == render_remaining(replace(sheet, patient=patient), size)


def test_its_address_gives_a_file_whose_name_names_nobody(story, signed_in):  # noqa: F811
    north = story.north
    answer = signed_in(north.educator).get(of(north.family, "remaining-skills", caregiver=north.mother.public_id))

    assert answer["Content-Disposition"].startswith('attachment; filename="remaining-skills 2026-05-14 ')
    assert b"".join(answer.streaming_content)[:5] == b"%PDF-"
