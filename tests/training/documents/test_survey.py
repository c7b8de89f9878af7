"""The survey file: as known then and as known now, what changed it in between, and the same bytes each time."""

from __future__ import annotations

import csv
import zipfile
from dataclasses import replace
from datetime import timedelta
from io import BytesIO, StringIO

import page
import pytest

from tests.cast import NOW, TODAY
from tests.training.pages.family.conftest import of, story  # noqa: F401 - a fixture
from training.documents.survey import LETTER, render_survey, zip_survey
from training.documents.survey_of import survey_of
from training.log.models import Entry
from training.standing.file import open_file
from training.standing.questions import FamilyOn

PDF = b"the paper"
SEEN = TODAY - timedelta(days=2)  # the day of the attempt that was voided the day after


def made(family, day=SEEN):
    return survey_of(
        FamilyOn(open_file(family), day),
        known_at=NOW,
        standing_word=lambda standing, pause: str(standing).replace("_", " "),
        verdict_word=str,
    )


@pytest.fixture
def survey(story):  # noqa: F811
    return made(story.north.family)


def line(survey, who, skill):
    return next(x for x in survey.lines if x.caregiver.startswith(who) and x.skill == skill)


def test_what_was_voided_later_counted_then(survey):
    hands = next(x for x in survey.lines if x.caregiver.startswith("Joram") and x.differs)

    assert hands.then.standing != hands.now.standing
    assert hands.now.standing == "not_started"


def test_what_nothing_changed_is_the_same(survey):
    suction = line(survey, "Marit", "Suctioning")

    assert suction.then == suction.now
    assert suction.then.is_competent


def test_then_is_the_end_of_the_day_where_the_patient_is(survey):
    assert survey.known_then.isoformat() == "2026-05-12T23:59:59.999999+02:00"


def test_today_is_as_known_now(story):  # noqa: F811
    survey = made(story.north.family, TODAY)

    assert survey.known_then == survey.known_at
    assert not any(x.differs for x in survey.lines)


def test_the_correction_is_listed_with_who_and_why(survey, story):  # noqa: F811
    (found,) = [c for c in survey.corrections if c.number == story.wrong.number]

    assert (found.how, found.by, found.why) == ("Void", story.north.supervisor.signed_name, "Wrong person")


def test_a_caregiver_nobody_knew_of_yet_is_said_to_be(survey, read):
    lines = tuple(replace(x, then=None) for x in survey.lines)

    assert "not known of" in read(render_survey(replace(survey, lines=lines))).words


def test_the_paper_says_both(survey, read):
    words = read(render_survey(survey)).words

    assert "As known then" in words
    assert "Wrong person" in words
    assert "The clinical team decides discharge." in words


@pytest.mark.parametrize("size", [None, LETTER])
def test_it_passes_the_checker_and_is_the_same_twice(survey, size):
    data = render_survey(survey, size) if size else render_survey(survey)

    assert page.validate_pdf_bytes(data, profile="ua1").failures == []
    assert zip_survey(survey, PDF) == zip_survey(survey, PDF)


def test_the_zip_holds_the_paper_and_its_tables(survey):
    whole = zipfile.ZipFile(BytesIO(zip_survey(survey, PDF)))
    rows = list(csv.DictReader(StringIO(whole.read("standings.csv").decode(), newline="")))

    assert whole.namelist() == ["survey.pdf", "standings.csv", "corrections.csv"]
    assert whole.read("survey.pdf") == PDF
    assert [(r["caregiver"], r["skill"], r["differs"]) for r in rows] == [
        (x.caregiver, x.skill, "yes" if x.differs else "no") for x in survey.lines
    ]


def test_no_cell_is_a_formula(survey):
    lines = tuple(replace(x, caregiver="=1+1", relation="@SUM(A1)") for x in survey.lines)
    whole = zipfile.ZipFile(BytesIO(zip_survey(replace(survey, lines=lines), PDF)))

    assert "'=1+1,'@SUM(A1)" in whole.read("standings.csv").decode()


@pytest.mark.parametrize(("name", "kind"), [("survey", "application/pdf"), ("survey-zip", "application/zip")])
def test_taking_it_is_logged_with_its_date(story, signed_in, name, kind):  # noqa: F811
    answer = signed_in(story.north.auditor).get(of(story.north.family, name) + "?on=2026-05-12")
    entry = Entry.objects.get(what="survey-taken")

    assert answer["Content-Type"] == kind
    assert (entry.words, entry.about_id) == ({"day": "2026-05-12"}, str(story.north.family.public_id))


def test_whoever_may_not_export_takes_none(story, signed_in):  # noqa: F811
    assert signed_in(story.north.educator).get(of(story.north.family, "survey")).status_code == 403
    assert not Entry.objects.filter(what="survey-taken").exists()
