"""What a device takes along of a family: enough to record by, nothing else of anybody, and only for who records."""

from __future__ import annotations

import json
from datetime import timedelta

import pytest

from tests.cast import ALL_ALONE, TODAY, plan, show, sign_off_suction

PEOPLE = {
    "visitor": 302, "stranger": 404, "elsewhere": 404, "auditor": 403, "administrator": 403, "supervisor": 200, "educator": 200,
}  # fmt: skip


@pytest.fixture
def pack(cast, signed_in):
    def fetch(who=None, family=None):
        client = signed_in(who or cast.north.educator)
        return client.get(f"/bedside/pack/{(family or cast.north.family).public_id}/").json()

    return fetch


@pytest.mark.parametrize("name", PEOPLE)
def test_who_takes_a_family_along(cast, client, person, name):
    if name != "visitor":
        client.force_login(person(name))

    assert client.get(f"/bedside/pack/{cast.north.family.public_id}/").status_code == PEOPLE[name]


@pytest.mark.parametrize("name", PEOPLE)
def test_who_gets_a_token(client, person, name):
    if name != "visitor":
        client.force_login(person(name))

    expected = 200 if name == "elsewhere" else PEOPLE[name]
    assert client.get("/bedside/token/").status_code == expected


@pytest.mark.parametrize("url", ["pack", "token"])
def test_no_browser_keeps_it_by_itself(cast, signed_in, url):
    address = f"/bedside/pack/{cast.north.family.public_id}/" if url == "pack" else "/bedside/token/"

    assert signed_in(cast.north.educator).get(address)["Cache-Control"] == "private, no-store"


def test_the_steps_are_those_that_apply_today(pack):
    steps = pack()["skills"]["suction"]["steps"]

    assert [(s["code"], s["number"], s["critical"], s["limits"]) for s in steps] == [
        ("s01", 1, True, ""),
        ("s02", 2, False, ""),
        ("s03", 3, True, "10 s or less"),
        ("s04", 4, False, ""),
        ("s06", 6, False, ""),
    ]


def test_a_cuff_brings_its_step(pack, cast):
    plan(cast.north, cast.north.family, TODAY - timedelta(days=1), {"suction": True, "cuff": "air", "tube_id_mm": 5})

    assert "s05" in [s["code"] for s in pack()["skills"]["suction"]["steps"]]


def test_a_skill_that_is_not_called_for_stays_at_home(pack, cast):
    plan(cast.north, cast.north.family, TODAY - timedelta(days=1), {"suction": False, "cuff": "none", "tube_id_mm": 5})

    assert "suction" not in pack()["skills"]


def test_a_card_is_not_recorded_at_the_bedside(pack):
    assert sorted(pack()["skills"]) == ["emergency", "hands", "suction", "tube_change"]


def test_a_closed_gate_is_said(pack):
    mother = next(c for c in pack()["caregivers"] if c["called"] == "Marit")

    assert "Gate closed: Suctioning is not signed off." in mother["skills"]["tube_change"]["gates"]


def test_an_open_gate_is_not(pack, cast):
    show(cast.north, cast.north.mother, "hands", TODAY - timedelta(days=20))
    sign_off_suction(cast.north, cast.north.mother)
    mother = next(c for c in pack()["caregivers"] if c["called"] == "Marit")

    assert mother["skills"]["tube_change"]["gates"] == []


def test_what_the_standard_looks_at_is_chosen_beforehand(pack):
    likely = pack()["caregivers"][0]["skills"]["emergency"]["likely"]

    assert likely == {"setting": "simulation", "role": "lead", "mode": "in_person", "place": "hospital"}


def test_last_times_trouble_comes_along(pack, cast):
    results = {**ALL_ALONE["suction"], "s01": "prompted"}
    show(
        cast.north,
        cast.north.mother,
        "suction",
        TODAY - timedelta(days=3),
        results=results,
        reteach={"line": "Hands first.", "on": "2026-05-20"},
    )
    last = next(c for c in pack()["caregivers"] if c["called"] == "Marit")["skills"]["suction"]["last"]

    assert (last["on"], last["line"], last["line_on"]) == ("11 May", "Hands first.", "20 May")
    assert [(t["code"], t["word"]) for t in last["troubles"]] == [("s01", "Prompted")]


def test_somebody_not_qualified_is_told(pack, cast, db):
    from tests.factories import MemberFactory

    newcomer = MemberFactory(organisation=cast.north.organisation)
    about = pack(newcomer)["caregivers"][0]["skills"]["suction"]

    assert about["warnings"] == ["You are not qualified to assess it today: it will be kept as practice."]


def test_a_caregiver_who_is_the_observer_is_left_out(pack, cast):
    mother = cast.north.mother
    mother.user = cast.north.educator.user
    mother.save(update_fields=["user"])

    assert [c["called"] for c in pack()["caregivers"]] == ["Joram"]


def test_somebody_who_has_left_is_left_out(pack, cast):
    father = cast.north.father
    father.through = TODAY - timedelta(days=1)
    father.save(update_fields=["through"])

    assert [c["called"] for c in pack()["caregivers"]] == ["Marit"]


def test_before_the_care_plan_nothing_is_recorded(pack, cast):
    import uuid

    from tests.cast import NOW
    from training.standing import deeds

    family = deeds.open_family(
        programme=cast.north.programme, name="Ny", patient_name="Ea Ny", patient_called="Ea", patient_born=None,
        time_zone="Europe/Oslo", by=cast.north.educator, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip

    assert (pack(family=family)["skills"], pack(family=family)["caregivers"]) == ({}, [])


def test_it_holds_no_more_of_anybody_than_what_they_are_called(pack, cast):
    text = json.dumps(pack(), ensure_ascii=False)
    family = cast.north.family
    kept_back = (
        family.name, family.patient_name, cast.north.mother.full_name, "1990", "2023", "mother", "tube_id_mm", "cuff",
        cast.north.educator.user.full_name, cast.north.educator.user.username, cast.north.organisation.title, "Prescriber",
    )  # fmt: skip

    assert [word for word in kept_back if word in text] == []


def test_two_of_one_name_are_told_apart_by_who_they_are(pack, cast):
    father = cast.north.father
    father.called = "Marit"
    father.save(update_fields=["called"])

    assert [c["relation"] for c in pack()["caregivers"]] == ["mother", "father"]
