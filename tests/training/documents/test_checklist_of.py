"""One skill of one caregiver as a blank checklist: the right edition, the steps of this patient, nothing else."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.cast import NOW, TODAY, at, plan
from tests.training.documents.editions import home_with_two_editions
from training.documents.checklist_of import NoChecklistError, checklist_of
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def made(home, skill="suction", day=TODAY, known_at=NOW, **more):
    return checklist_of(
        FamilyOn(open_file(home.family), day),
        home.mother,
        skill,
        known_at=known_at,
        address=lambda edition: f"https://r.example/{edition}/",
        result_word=lambda result: f"<{result}>",
        **more,
    )


def numbers(sheet):
    return [step.number for step in sheet.steps]


def test_it_is_named_by_family_and_by_what_the_caregiver_is_called(cast):
    sheet = made(cast.north)

    assert (sheet.family, sheet.caregiver, sheet.skill, sheet.edition) == ("Okonjo-Lind", "Marit", "Suctioning", 1)


def test_no_full_name_and_no_birth_date_is_on_it(cast):
    assert [word for word in ("Ilse Okonjo", "Marit Okonjo", "1990", "2023") if word in repr(made(cast.north))] == []


def test_names_can_be_left_to_be_written_in(cast):
    sheet = made(cast.north, with_names=False)

    assert (sheet.family, sheet.caregiver) == ("", "")


def test_it_is_known_at_the_familys_clock(cast):
    assert made(cast.north).known_at.isoformat() == "2026-05-14T10:00:00+02:00"


def test_steps_of_another_care_plan_are_left_out(cast):
    assert numbers(made(cast.north)) == [1, 2, 3, 4, 6]


def test_the_care_plan_of_today_decides(cast):
    plan(cast.north, cast.north.family, TODAY, {"suction": True, "cuff": "air", "tube_id_mm": 5})

    assert numbers(made(cast.north, known_at=at(TODAY))) == [1, 2, 3, 4, 5, 6]


def test_a_fact_that_is_not_stated_asks_for_the_step(cast):
    plan(cast.north, cast.north.family, TODAY, {"suction": True})

    assert numbers(made(cast.north, known_at=at(TODAY))) == [1, 2, 3, 4, 5, 6]


def test_what_the_edition_asks_of_the_care_plan_is_printed(cast):
    assert [(f.title, f.value) for f in made(cast.north).care_plan] == [
        ("Cuff", "No cuff"),
        ("Tube, inner diameter", "5 mm"),
        ("Suction prescribed", "yes"),
    ]


def test_a_step_of_one_role_says_so(cast):
    assert [step.only for step in made(cast.north, "tube_change").steps] == ["", "Only where the caregiver leads.", ""]


@pytest.mark.parametrize(
    ("number", "critical", "may_skip", "limits", "unit"),
    [
        (1, True, False, "", ""),
        (2, False, False, "", ""),
        (3, True, False, "at most 10 s", "s"),
        (6, False, True, "", ""),
    ],
)
def test_a_step_says_what_is_special_about_it(cast, number, critical, may_skip, limits, unit):
    step = next(step for step in made(cast.north).steps if step.number == number)

    assert (step.critical, step.may_skip, step.limits, step.unit) == (critical, may_skip, limits, unit)


def test_the_results_are_in_the_pages_words(cast):
    assert made(cast.north).results == (
        "<independent>", "<prompted>", "<assisted>", "<omitted>", "<not_seen>", "<not_applicable>"
    )  # fmt: skip


def test_cautions_and_notice_are_on_it(cast):
    sheet = made(cast.north)

    assert sheet.cautions == ("Depth and pressure are the prescriber's order.",)
    assert sheet.notice.startswith("A sample to adapt.")


def test_a_card_has_no_checklist(cast):
    with pytest.raises(NoChecklistError):
        made(cast.north, "cpr_card")


@pytest.mark.parametrize("day", [date(2024, 12, 31)])
def test_before_the_first_edition_there_is_none(cast, day):
    with pytest.raises(NoChecklistError):
        made(cast.north, day=day)


@pytest.mark.parametrize(("days", "edition"), [(0, 1), (1, 1), (2, 2), (3, 2)])
def test_the_edition_is_that_of_the_day(cast, monkeypatch, days, edition):
    home = home_with_two_editions(monkeypatch, TODAY + timedelta(days=2))
    sheet = made(home, "hands", TODAY + timedelta(days=days))

    assert (sheet.edition, sheet.address) == (edition, f"https://r.example/{edition}/")
