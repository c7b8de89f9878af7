"""What a caregiver never reads: the staff's words, marks, notes and reasons, and anybody else's results."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from competency.standing import Standing
from tests.cast import NOW, TODAY, authorise, show, sign_off_suction, write
from tests.training.pages.caregiver.acts import address, page, text
from training.pages.templatetags.register import standing_plain
from training.records.models import Record

FORBIDDEN = re.compile(r"fail|lapsed|withdrawn|unsafe|overdue|non-compliant", re.IGNORECASE)


def everything_that_can_go_wrong(home):
    """A stop for safety, a lapse, a withdrawal and a hold, each with words for staff."""
    mother = home.mother
    show(home, mother, "hands", TODAY - timedelta(days=40))
    base = {"caregiver": mother.case_id}
    write(
        home.supervisor,
        home.family,
        "accepted",
        NOW,
        **base,
        skill="suction",
        on="2026-04-20",
        last_day="2026-05-01",
        organisation="Farholt",
    )
    results = {"s01": "independent", "s02": "not_seen"}
    show(
        home,
        mother,
        "emergency",
        TODAY - timedelta(days=3),
        results=results,
        stopped="caregiver",
        reteach={"line": "SECRET A", "on": None},
    )
    reasons = {"reason": "SECRET B", "on": "2026-05-10"}
    write(home.supervisor, home.family, "withdrawal", NOW, **base, skill="hands", cover="SECRET C", **reasons)
    write(home.supervisor, home.family, "hold", NOW, **base, skill="tube_change", through=None, **reasons)


def test_the_standings_that_can_go_wrong_are_all_there(north, mother):
    everything_that_can_go_wrong(north)
    standings = {p.cell.skill.code: p.cell.standing for p in page(mother, north.mother).posts}

    assert standings["hands"] is Standing.WITHDRAWN
    assert standings["suction"] is Standing.LAPSED


def test_no_forbidden_word_is_read(north, mother):
    everything_that_can_go_wrong(north)

    assert FORBIDDEN.findall(text(mother, north.mother)) == []


def test_no_shape_of_the_staff_s_is_shown(north, mother):
    everything_that_can_go_wrong(north)
    main = mother.get(address(north.mother)).content.decode().split("<main", 1)[1]

    assert "m-withdrawn" not in main
    assert set(re.findall(r'data-standing="(\w+)"', main)) <= {"held", "not_started", "in_training", "signed_off"}


def test_no_reason_and_no_note_of_staff_is_read(north, mother):
    everything_that_can_go_wrong(north)

    assert "SECRET" not in mother.get(address(north.mother)).content.decode()


def test_a_hold_is_a_pause(north, mother):
    everything_that_can_go_wrong(north)

    assert "on pause You are on pause. Nothing you have shown is lost." in text(mother, north.mother)


def test_nobody_else_is_on_the_page(north, mother):
    sign_off_suction(north, north.father)

    assert "Joram" not in mother.get(address(north.mother)).content.decode()


def test_waiting_for_the_prescriber_is_said(north, mother):
    sign_off_suction(north, north.mother)
    for record in Record.objects.of_chain(north.family.public_id).filter(kind="authorisation"):
        write(north.educator, north.family, "void", NOW, record=str(record.intent), reason="Ended.")
    authorise(north, north.family, "suction", TODAY - timedelta(days=30), TODAY - timedelta(days=1))

    assert "waiting for the prescriber’s yes" in text(mother, north.mother)


@pytest.mark.parametrize("standing", [s for s in Standing if s is not Standing.NOT_REQUIRED])
def test_no_standing_has_a_forbidden_word(standing):
    assert not FORBIDDEN.search(str(standing_plain(standing.value)))
