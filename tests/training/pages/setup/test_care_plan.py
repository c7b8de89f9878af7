"""A care plan entry: what it would change is shown before it is signed."""

from __future__ import annotations

import uuid
from decimal import Decimal

import pytest

from competency.standing import Standing
from tests.cast import TODAY, plan, sign_off_suction
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.records.models import Record
from training.standing.file import open_file
from training.standing.questions import FamilyOn

TYPED = {"on": "2026-05-14", "time": "09:30", "fact_cuff": "none", "fact_tube_id_mm": "5.5", "fact_suction": "yes"}


@pytest.fixture
def educator(cast, signed_in):
    return signed_in(cast.north.educator)


def look(client, home, **changes):
    return send(client, of(home.family, "care-plan-new"), **{**TYPED, "password": None, **changes})


def enter(client, home, **changes):
    """Look, then sign what was shown."""
    seen = look(client, home, **changes)
    shown = seen.context["form"]["shown"].value()
    return send(client, of(home.family, "care-plan-new"), **{**TYPED, "shown": shown, "sign": "yes", **changes})


def test_it_is_filled_in_from_the_plan_in_force(cast, educator):
    form = educator.get(of(cast.north.family, "care-plan-new")).context["form"]

    assert [form[f"fact_{f}"].value() for f in ("cuff", "tube_id_mm", "suction")] == ["none", "5", "yes"]


def test_the_first_step_asks_for_no_password(cast, educator):
    answer = educator.get(of(cast.north.family, "care-plan-new"))

    assert "password" not in answer.context["form"].fields


def test_looking_writes_nothing(cast, educator):
    before = count(cast.north.family)
    look(educator, cast.north)

    assert count(cast.north.family) == before


def test_the_recheck_an_entry_opens_is_shown_before(cast, educator):
    sign_off_suction(cast.north, cast.north.mother)
    effects = look(educator, cast.north).context["effects"]

    assert [(e.after.skill.code, e.after.standing, e.who) for e in effects.again] == [
        ("suction", Standing.HELD, "Marit")
    ]


def test_the_page_says_the_change_in_words(cast, educator):
    sign_off_suction(cast.north, cast.north.mother)
    text = look(educator, cast.north).content.decode()

    assert "What this entry changes" in text
    assert "To be shown again since 14 May 2026: Tube, inner diameter changed." in text


def test_an_entry_that_changes_no_standing_says_so(cast, educator):
    assert "No standing changes." in look(educator, cast.north).content.decode()


def test_signing_writes_the_entry(cast, educator):
    enter(educator, cast.north)
    body = last(cast.north.family).data

    assert (body["on"], body["time"]) == ("2026-05-14", "09:30")
    assert body["facts"] == {"cuff": "none", "suction": True, "tube_id_mm": Decimal("5.5")}


def test_the_message_names_what_is_to_be_shown_again(cast, educator):
    sign_off_suction(cast.north, cast.north.mother)
    answer = enter(educator, cast.north)

    assert said(answer) == ("Care plan entered, from 14 May 2026. One skill is to be shown again: Suctioning (Marit).")


def test_two_are_counted(cast, educator):
    for caregiver in (cast.north.mother, cast.north.father):
        sign_off_suction(cast.north, caregiver)

    assert "Two skills are to be shown again: Suctioning (Marit), Suctioning (Joram)." in said(
        enter(educator, cast.north)
    )


def test_signing_without_having_looked_shows_the_changes_first(cast, educator):
    before = count(cast.north.family)
    answer = send(educator, of(cast.north.family, "care-plan-new"), **TYPED, sign="yes")

    assert (answer.status_code, count(cast.north.family)) == (200, before)
    assert "Nothing was signed; this is what the entry would change." in answer.content.decode()


def test_what_was_changed_after_looking_is_shown_again(cast, educator):
    shown = look(educator, cast.north).context["form"]["shown"].value()
    before = count(cast.north.family)
    changed = {**TYPED, "fact_tube_id_mm": "6", "shown": shown, "sign": "yes"}
    answer = send(educator, of(cast.north.family, "care-plan-new"), **changed)

    assert (answer.context["changed"], count(cast.north.family)) == (True, before)


def test_a_file_that_moved_in_between_is_shown_again(cast, educator):
    shown = look(educator, cast.north).context["form"]["shown"].value()
    sign_off_suction(cast.north, cast.north.mother)
    answer = send(educator, of(cast.north.family, "care-plan-new"), **TYPED, shown=shown, sign="yes")

    assert [e.after.skill.code for e in answer.context["effects"].again] == ["suction"]


def test_a_wrong_password_keeps_the_changes_on_the_screen(cast, educator):
    sign_off_suction(cast.north, cast.north.mother)
    answer = enter(educator, cast.north, password="wrong")

    assert (list(errors(answer)), len(answer.context["effects"].again)) == (["password"], 1)


def test_the_same_post_twice_is_one_record(cast, educator):
    before, intent = count(cast.north.family), str(uuid.uuid4())
    shown = look(educator, cast.north, intent=intent).context["form"]["shown"].value()
    fields = {**TYPED, "shown": shown, "sign": "yes", "intent": intent}
    answers = [send(educator, of(cast.north.family, "care-plan-new"), **fields) for _ in range(2)]

    assert ([a.status_code for a in answers], count(cast.north.family)) == ([302, 302], before + 1)


def test_a_fact_left_out_is_not_stated(cast, educator):
    enter(educator, cast.north, fact_cuff="", fact_tube_id_mm="", fact_suction="")

    assert last(cast.north.family).data["facts"] == {}


@pytest.mark.parametrize(("typed", "kept"), [("5", 5), ("5.0", 5), ("5.50", Decimal("5.5")), ("12", 12), ("2", 2)])
def test_a_number_is_kept_exactly(cast, educator, typed, kept):
    enter(educator, cast.north, fact_tube_id_mm=typed)
    value = last(cast.north.family).data["facts"]["tube_id_mm"]

    assert (value, type(value)) == (kept, type(kept))


@pytest.mark.parametrize(
    ("changes", "field"),
    [
        ({"fact_tube_id_mm": "1.999"}, "fact_tube_id_mm"),
        ({"fact_tube_id_mm": "12.1"}, "fact_tube_id_mm"),
        ({"fact_tube_id_mm": "five"}, "fact_tube_id_mm"),
        ({"fact_tube_id_mm": "NaN"}, "fact_tube_id_mm"),
        ({"fact_tube_id_mm": "1e400"}, "fact_tube_id_mm"),
        ({"fact_cuff": "foam"}, "fact_cuff"),
        ({"fact_suction": "maybe"}, "fact_suction"),
        ({"on": ""}, "on"),
        ({"on": "tomorrow"}, "on"),
        ({"time": "25:00"}, "time"),
    ],
)
def test_bad_input_stands_at_its_field(cast, educator, changes, field):
    answer = look(educator, cast.north, **changes)

    assert list(errors(answer)) == [field]


def test_a_second_entry_on_one_day_is_refused_in_words(cast, educator):
    answer = look(educator, cast.north, on="2026-03-02")

    assert errors(answer) == {
        "on": ["The care plan already has an entry on 2 March 2026. Void it first, or choose another day."]
    }


def test_an_entry_ahead_is_compared_on_its_own_day(cast, educator):
    sign_off_suction(cast.north, cast.north.mother)
    effects = look(educator, cast.north, on="2026-05-20").context["effects"]

    assert (effects.day.isoformat(), len(effects.again)) == ("2026-05-20", 1)


def test_a_change_back_calls_the_recheck_off(cast, educator):
    sign_off_suction(cast.north, cast.north.mother)
    plan(cast.north, cast.north.family, TODAY.replace(day=10), {"suction": True, "cuff": "none", "tube_id_mm": 6})
    answer = enter(educator, cast.north, fact_tube_id_mm="5")

    assert said(answer) == "Care plan entered, from 14 May 2026. Suctioning, Marit: signed off."


def test_a_first_care_plan_says_what_it_starts(cast, educator):
    first = Record.objects.of_chain(cast.north.family.public_id).get(kind="care_plan")
    send(educator, of(cast.north.family, "void-new", number=first.number), reason="Wrong family.")
    answer = look(educator, cast.north)

    assert "The first care plan: from its day on each skill has a standing." in answer.content.decode()


def test_a_first_care_plan_has_no_time_unless_typed(cast, educator):
    first = Record.objects.of_chain(cast.north.family.public_id).get(kind="care_plan")
    send(educator, of(cast.north.family, "void-new", number=first.number), reason="Wrong family.")

    assert educator.get(of(cast.north.family, "care-plan-new")).context["form"]["time"].value() is None


def test_an_unstated_fact_is_missing_from_the_verdict(cast, educator):
    enter(educator, cast.north, fact_cuff="")

    assert "fact:cuff" in [m.code for m in FamilyOn(open_file(cast.north.family), TODAY).missing]
