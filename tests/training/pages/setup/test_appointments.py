"""Appointments on the screen: planned, changed, cancelled, and whose turn the next one of a skill is."""

from __future__ import annotations

import re

import pytest

from tests.cast import NOW, write
from tests.training.kept import appointment_body, keep, off_body
from tests.training.pages.setup.acts import count, errors, last, of, send


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def filled(north):
    return {"day": "2026-05-21", "at": "10:00", "what_for": ["tube_change"], "caregiver": north.mother.case_id}


@pytest.fixture
def post(north, signed_in, filled):
    def send_it(page="appointment-new", role="educator", more=None, **changes):
        fields = {**filled, **changes}
        return send(signed_in(getattr(north, role)), of(north.family, page, **(more or {})), **fields)

    return send_it


@pytest.fixture
def together(north, signed_in):
    """The section of the family's page, as a member reads it."""

    def get(role="educator", on="", whole=False):
        body = signed_in(getattr(north, role)).get(of(north.family, "family") + on).content.decode()
        if 'id="together"' not in body:
            return ""
        found = body.split('id="together"', 1)[1].split('id="grid"', 1)[0]
        return found if whole else re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", found)).replace(" ,", ",")

    return get


def plan(home, caregiver=None, **changes):
    return keep(home.educator, home.family, "appointment", **appointment_body(caregiver or home.mother, **changes))


def test_it_becomes_a_record(north, post):
    post(minutes="45", checks=north.educator.observer_id, interpreter="phone", language="Somali", place="at home")
    body = last(north.family).data

    assert {k: body[k] for k in ("part", "day", "at", "minutes", "skills", "interpreter")} == {
        "part": "planned",
        "day": "2026-05-21",
        "at": "10:00",
        "minutes": 45,
        "skills": ["tube_change"],
        "interpreter": {"kind": "phone", "language": "Somali"},
    }
    assert (body["caregiver"], body["checks"]) == (north.mother.case_id, north.educator.observer_id)


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"day": "2026-05-13"}, "day"),
        ({"day": "soon"}, "day"),
        ({"caregiver": ""}, "caregiver"),
        ({"what_for": None}, "what_for"),
        ({"interpreter": "phone"}, "language"),
        ({"minutes": "0"}, "minutes"),
        ({"checks": "nobody"}, "checks"),
    ],
)
def test_what_is_wrong_stands_at_its_field(north, post, changes, field):
    before = count(north.family)

    assert list(errors(post(**changes))) == [field]
    assert count(north.family) == before


def test_who_checks_is_one_who_may_record(north, signed_in):
    form = signed_in(north.educator).get(of(north.family, "appointment-new")).context["form"]

    assert {value for value, _ in form.fields["checks"].choices} == {
        "",
        north.educator.observer_id,
        north.supervisor.observer_id,
    }


def test_the_next_of_a_skill_says_whose_turn_it_is(north, together):
    plan(north, north.father, day="2026-05-28")
    plan(north, day="2026-05-21")

    assert together().index(f"21 May, 10:00 Next: Tube change, {north.mother.full_name}’s turn.") < together().index(
        f"28 May, 10:00 Tube change, {north.father.full_name}’s turn."
    )


def test_each_skill_has_its_own_next(north, together):
    plan(north, day="2026-05-21")
    plan(north, day="2026-05-28", skills=["suction"])

    assert together().count("Next:") == 2


def test_a_talk_is_nobody_s_next_skill(north, together):
    plan(north, skills=[], what="A talk about the night")

    assert "21 May, 10:00 A talk about the night" in together()
    assert "Next:" not in together()


def test_everything_about_it_is_said(north, together):
    plan(
        north,
        who=[north.father.case_id],
        checks=north.educator.observer_id,
        interpreter={"kind": "phone", "language": "Somali"},
    )

    assert (
        f"Comes along: {north.father.full_name}. Checks: {north.educator.signed_name}. Length: 45 minutes. "
        "Place: at home. Interpreter: by phone, Somali." in together()
    )


@pytest.mark.parametrize(("on", "shown"), [("?on=2026-05-21", True), ("?on=2026-05-22", False)])
def test_a_page_of_another_date_shows_what_comes_from_then(north, together, on, shown):
    plan(north)

    assert ("Tube change" in together(on=on)) is shown


def test_a_cancelled_one_is_not_shown(north, together):
    keep(north.educator, north.family, "appointment", **off_body(plan(north)))

    assert together() == ""


@pytest.mark.parametrize(("role", "offered"), [("educator", True), ("administrator", False), ("auditor", False)])
def test_a_change_is_offered_to_who_records(north, together, role, offered):
    first = plan(north)

    assert (of(north.family, "appointment-move", number=first.number) in together(role, whole=True)) is offered


def test_a_change_is_filled_in_with_what_stands(north, signed_in):
    first = plan(north, interpreter={"kind": "phone", "language": "Somali"})
    form = signed_in(north.educator).get(of(north.family, "appointment-move", number=first.number)).context["form"]
    found = {name: form[name].value() for name in ("day", "at", "minutes", "what_for", "caregiver", "language")}

    assert found == {
        "day": "2026-05-21",
        "at": "10:00",
        "minutes": 45,
        "what_for": ["tube_change"],
        "caregiver": north.mother.case_id,
        "language": "Somali",
    }


def test_a_change_is_a_newer_record_of_the_same_appointment(north, post, together):
    first = plan(north)
    post("appointment-move", more={"number": first.number}, day="2026-05-22")
    again = last(north.family)
    post("appointment-move", more={"number": first.number}, day="2026-05-23")

    assert (again.data["part"], again.data["record"]) == ("moved", str(first.intent))
    assert "23 May, 10:00" in together()
    assert "22 May" not in together()


def test_it_is_cancelled_with_a_reason(north, post, together):
    first = plan(north)
    post("appointment-cancel", more={"number": first.number}, reason="Nobody is free.")

    assert (last(north.family).data["part"], last(north.family).data["reason"]) == ("cancelled", "Nobody is free.")
    assert together() == ""


@pytest.mark.parametrize("page", ["appointment-move", "appointment-cancel"])
def test_a_cancelled_one_is_neither_changed_nor_cancelled(north, post, page):
    first = plan(north)
    keep(north.educator, north.family, "appointment", **off_body(first))

    assert post(page, more={"number": first.number}, reason="x").status_code == 404


@pytest.mark.parametrize("page", ["appointment-move", "appointment-cancel"])
def test_another_family_s_is_not_found(north, signed_in, page):
    first = plan(north)

    assert signed_in(north.educator).get(of(north.families[1], page, number=first.number)).status_code == 404


def test_its_record_tells_of_the_day_it_was_planned(north, signed_in):
    made = plan(north)
    text = re.sub(
        r"\s+", " ", signed_in(north.auditor).get(of(north.family, "record", number=made.number)).content.decode()
    )

    assert f"Appointment: Tube change, 21 May 2026, 10:00, {north.mother.full_name}’s turn" in text
    assert f"Record {made.number} of this file. 14 May 2026</p>" in text


def test_a_record_leads_to_its_change_while_it_stands(north, signed_in):
    first = plan(north)
    moved = keep(
        north.educator,
        north.family,
        "appointment",
        **appointment_body(north.mother, part="moved", record=str(first.intent), day="2026-05-22"),
    )
    client = signed_in(north.educator)
    address = of(north.family, "appointment-move", number=first.number)
    assert address in client.get(of(north.family, "record", number=moved.number)).content.decode()
    write(north.supervisor, north.family, "void", NOW, record=str(moved.intent), reason="wrong")

    assert address in client.get(of(north.family, "record", number=first.number)).content.decode()
    assert address not in client.get(of(north.family, "record", number=moved.number)).content.decode()
