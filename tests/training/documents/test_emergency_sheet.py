"""The emergency sheet for the wall: one page, what is stated, lines for the rest, and nothing computed."""

from __future__ import annotations

from dataclasses import replace

import page
import pytest

from tests.cast import NOW, TODAY, plan
from tests.training.documents.codes import decode, squares
from tests.training.pages.family.conftest import of
from training.documents.emergency_sheet import A4, LETTER, Place, render_emergency_sheet
from training.documents.emergency_sheet_of import emergency_sheet_of
from training.documents.pdf.seal import Seal
from training.standing.file import open_file
from training.standing.questions import FamilyOn

SEAL = Seal(number="7K3M-PQ9X-2DFA", address="https://register.example.org/check/7K3M-PQ9X-2DFA/")
LONG = (
    "This is a sample to adapt, not a protocol. The prescriber's orders, the organisation's own policy, local law and "
    "licensed practice come first. Suctioning, tie changes and tube changes by a caregiver only where the prescriber or "
    "the home-care provider has said so. It does not teach the care of a ventilator."
)


def made(family, day=TODAY):
    return emergency_sheet_of(FamilyOn(open_file(family), day), known_at=NOW)


def places(sheet):
    return {place.title: place.value for row in sheet.rows for place in row}


@pytest.fixture
def sheet(cast):
    return made(cast.north.family)


def test_what_the_care_plan_states_is_on_it(cast):
    plan(cast.north, cast.north.family, TODAY, {"tube_id_mm": 6, "cuff": "air", "suction": True})
    found = places(made(cast.north.family))

    assert (found["Inner diameter"], found["Cuff"], found["Spare, same size"]) == (
        "6 mm",
        "Filled with air",
        "6 mm",
    )


def test_no_smaller_size_is_computed_and_what_is_not_stated_is_open(sheet):
    found = places(sheet)

    assert {found[t] for t in ("Spare, one size smaller", "Outer diameter", "Length", "Suction catheter")} == {""}


def test_before_a_care_plan_every_place_is_open(cast, read):
    empty = made(cast.north.family, TODAY.replace(year=2020))

    assert set(places(empty).values()) == {""}
    assert "There is no care plan yet." in read(render_emergency_sheet(empty)).words


def test_a_programme_that_names_its_own_facts(cast):
    programme = cast.north.programme
    programme.about["checks"] = {"tube": {"inner": "bore", "outer": "tube_od_mm"}}
    picture = FamilyOn(open_file(cast.north.family), TODAY)
    picture.file.programme.about = programme.about

    assert places(emergency_sheet_of(picture, known_at=NOW))["Inner diameter"] == ""


def test_nobody_but_the_patient_is_named_and_they_only_as_called(cast, sheet, read):
    family = cast.north.family
    words = read(render_emergency_sheet(sheet)).words

    assert f"For {family.patient_called} only" in words
    assert family.patient_name not in words
    assert [c.called for c in family.caregivers.all() if c.called in words] == []


@pytest.mark.parametrize(
    "said", ["Call for help", "Sample wording, to adapt", "The prescriber’s orders and your team’s"]
)
def test_it_says_what_to_do_and_that_it_is_a_sample(sheet, read, said):
    assert said in read(render_emergency_sheet(sheet)).words


@pytest.mark.parametrize("size", [A4, LETTER])
def test_it_is_one_accessible_page_with_its_code(sheet, read, size):
    full = replace(sheet, notice=LONG, organisation="Tallowmere Children’s Hospital, homecoming programme")
    data = render_emergency_sheet(full, size, SEAL)
    printed = read(data)

    assert len(printed.pages) == 1
    assert decode(squares(printed.reader, 0)) == SEAL.address
    assert page.validate_pdf_bytes(data, profile="ua1").failures == []
    assert data == render_emergency_sheet(full, size, SEAL)


def test_long_values_run_on_and_stay_accessible(sheet):
    wordy = replace(sheet, rows=((Place(title="Cuff " * 90, value="word " * 400),),))

    assert page.validate_pdf_bytes(render_emergency_sheet(wordy), profile="ua1").failures == []


def test_staff_get_it_under_a_name_that_names_nobody(cast, signed_in):
    answer = signed_in(cast.north.educator).get(of(cast.north.family, "emergency-sheet") + "?size=letter")

    assert answer["Content-Disposition"].startswith('attachment; filename="emergency-sheet 2026-05-14 ')
    assert b"".join(answer.streaming_content)[:5] == b"%PDF-"


def test_a_family_handed_over_gets_it_elsewhere(cast, signed_in):
    family = cast.north.family
    type(family).objects.filter(pk=family.pk).update(handed_over_on=TODAY, handed_over_to="Southmere")

    assert signed_in(cast.north.educator).get(of(family, "emergency-sheet")).status_code == 302
