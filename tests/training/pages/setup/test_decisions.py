"""A supervisor's decisions, and the deeds about one record."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest

from competency.standing import Standing
from tests.cast import ALL_ALONE, TODAY, show, sign_off_suction
from tests.training.pages.setup.acts import count, errors, last, of, said, send
from training.records.models import Record
from training.standing.file import open_file
from training.standing.questions import FamilyOn

REASON = "Asked by the ward & <the> father."


@pytest.fixture
def supervisor(cast, signed_in):
    return signed_in(cast.north.supervisor)


@pytest.fixture
def north(cast):
    return cast.north


def cell(home, skill="suction"):
    return FamilyOn(open_file(home.family), TODAY).cell(home.mother, skill)


def decide(client, home, name, **fields):
    filled = {"caregiver": home.mother.case_id, "skill": "suction", "on": "2026-05-14", "reason": REASON, **fields}
    return send(client, of(home.family, name), **filled)


# Exceptions


def test_an_exception_names_who_answers_for_it(north, supervisor):
    fields = {"missing": "team", "from_day": "2026-05-14", "through": "2026-05-21", "reason": REASON}
    send(supervisor, of(north.family, "exception-new"), **fields)
    body = last(north.family).data

    assert (body["by"], body["missing"]) == (north.supervisor.observer_id, "team")
    assert body["signed"]["name"] == north.supervisor.signed_name


def test_an_exception_covers_what_is_missing(north, supervisor):
    fields = {"missing": "item:kit", "from_day": "2026-05-14", "through": "2026-05-21", "reason": REASON}
    send(supervisor, of(north.family, "exception-new"), **fields)
    kit = next(m for m in FamilyOn(open_file(north.family), TODAY).missing if m.code == "item:kit")

    assert kit.exception == last(north.family)


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"missing": "item:boat"}, "missing"),
        ({"through": ""}, "through"),
        ({"through": "2026-05-13"}, "through"),
        ({"reason": ""}, "reason"),
    ],
)
def test_an_exception_without_its_parts_is_refused(north, supervisor, fields, field):
    filled = {"missing": "team", "from_day": "2026-05-14", "through": "2026-05-21", "reason": REASON, **fields}

    assert list(errors(send(supervisor, of(north.family, "exception-new"), **filled))) == [field]


def test_what_is_missing_is_chosen_by_the_address(north, supervisor):
    answer = supervisor.get(of(north.family, "exception-new") + "?missing=item:kit")

    assert answer.context["form"]["missing"].value() == "item:kit"


# Holds, rechecks, withdrawals


def test_a_hold_on_one_skill(north, supervisor):
    sign_off_suction(north, north.mother)
    answer = decide(supervisor, north, "hold-new")

    assert (cell(north).standing, cell(north).on_pause) == (Standing.HELD, True)
    assert said(answer) == "Hold entered. Nothing that was shown is lost. Suctioning, Marit: held (a hold)."


def test_a_hold_on_every_skill(north, supervisor):
    decide(supervisor, north, "hold-new", skill="*")

    assert last(north.family).data["skill"] is None


def test_a_hold_may_end(north, supervisor):
    sign_off_suction(north, north.mother)
    decide(supervisor, north, "hold-new", through="2026-05-20")
    after = FamilyOn(open_file(north.family), TODAY + timedelta(days=7))

    assert after.cell(north.mother, "suction").standing is Standing.SIGNED_OFF


def test_an_educator_may_put_a_hold(cast, signed_in):
    decide(signed_in(cast.north.educator), cast.north, "hold-new")

    assert last(cast.north.family).kind == "hold"


def test_a_recheck_holds_what_was_signed_off_the_same_morning(north, supervisor):
    sign_off_suction(north, north.mother, last=TODAY)
    decide(supervisor, north, "recheck-new", time="09:59")

    assert cell(north).standing is Standing.HELD


def test_a_recheck_says_what_follows(north, supervisor):
    sign_off_suction(north, north.mother)
    answer = decide(supervisor, north, "recheck-new", time="09:59")

    assert said(answer) == "Recheck entered. One skill is to be shown again: Suctioning (Marit)."


def test_a_recheck_later_today_is_refused_at_its_time(north, supervisor):
    assert list(errors(decide(supervisor, north, "recheck-new", time="10:01"))) == ["time"]


def test_a_withdrawal_holds_reason_and_cover(north, supervisor):
    sign_off_suction(north, north.mother)
    decide(supervisor, north, "withdrawal-new", cover="The night nurse, by phone.")
    body = last(north.family).data

    assert (body["reason"], body["cover"]) == (REASON, "The night nurse, by phone.")
    assert cell(north).standing is Standing.WITHDRAWN


@pytest.mark.parametrize("left_out", ["reason", "cover"])
def test_a_withdrawal_needs_both(north, supervisor, left_out):
    before = count(north.family)
    answer = decide(supervisor, north, "withdrawal-new", **{"cover": "Night nurse.", left_out: " "})

    assert (list(errors(answer)), count(north.family)) == ([left_out], before)


@pytest.mark.parametrize("page", ["hold-new", "recheck-new", "withdrawal-new", "accepted-new"])
def test_the_same_decision_twice_is_one_record(north, supervisor, page):
    before, intent = count(north.family), str(uuid.uuid4())
    for _ in range(2):
        decide(supervisor, north, page, intent=intent, cover="Nurse.", organisation="Farholt Hospital")

    assert count(north.family) == before + 1


def test_a_family_without_caregivers_says_so(cast, supervisor):
    from training.people.models import Caregiver

    family = cast.north.families[1]
    Caregiver.objects.filter(family=family).delete()

    assert "There is no caregiver in this family yet." in supervisor.get(of(family, "hold-new")).content.decode()


# Taken over


def test_a_sign_off_is_taken_over_through_its_own_last_day(north, supervisor):
    decide(supervisor, north, "accepted-new", organisation="Farholt Hospital", last_day="2026-07-01")

    assert (cell(north).standing, cell(north).last_day) == (Standing.SIGNED_OFF, TODAY.replace(month=7, day=1))


def test_a_last_day_before_the_check_is_refused(north, supervisor):
    answer = decide(supervisor, north, "accepted-new", organisation="Farholt Hospital", last_day="2026-05-13")

    assert list(errors(answer)) == ["last_day"]


# Voids


def test_a_void_shows_what_it_takes_away(north, supervisor):
    sign_off_suction(north, north.mother)
    answer = supervisor.get(of(north.family, "void-new", number=last(north.family).number))

    assert [(e.before.standing, e.after.standing) for e in answer.context["effects"].cells] == [
        (Standing.SIGNED_OFF, Standing.IN_TRAINING)
    ]


def test_a_void_says_what_stays(north, supervisor):
    sign_off_suction(north, north.mother)
    number = last(north.family).number
    answer = send(supervisor, of(north.family, "void-new", number=number), reason=REASON)

    assert said(answer) == (f"Voided. Record {number} stays visible, with your reason. Suctioning, Marit: in training.")


def test_a_void_needs_a_reason(north, supervisor):
    made = show(north, north.mother, "hands", TODAY - timedelta(days=1))

    assert list(errors(send(supervisor, of(north.family, "void-new", number=made.number)))) == ["reason"]


def test_an_educator_voids_their_own(cast, signed_in):
    made = show(cast.north, cast.north.mother, "hands", TODAY - timedelta(days=1))
    send(signed_in(cast.north.educator), of(cast.north.family, "void-new", number=made.number), reason=REASON)

    assert cell(cast.north, "hands").standing is Standing.NOT_STARTED


def test_a_voided_record_is_not_voided_again(north, supervisor):
    made = show(north, north.mother, "hands", TODAY - timedelta(days=1))
    address = of(north.family, "void-new", number=made.number)
    send(supervisor, address, reason=REASON)
    before = count(north.family)
    answer = send(supervisor, address, reason=REASON)

    assert (answer.status_code, count(north.family)) == (302, before)
    assert said(answer).endswith(f"Record {made.number} is voided already.")


def test_a_void_is_never_voided(north, supervisor):
    made = show(north, north.mother, "hands", TODAY - timedelta(days=1))
    send(supervisor, of(north.family, "void-new", number=made.number), reason=REASON)

    assert supervisor.get(of(north.family, "void-new", number=made.number + 1)).status_code == 404


@pytest.mark.parametrize("kind", ["family", "caregiver"])
def test_who_is_in_the_file_is_changed_not_voided(north, supervisor, kind):
    number = Record.objects.of_chain(north.family.public_id).filter(kind=kind).first().number

    assert supervisor.get(of(north.family, "void-new", number=number)).status_code == 404


def test_the_last_care_plan_voided_leaves_no_standing(north, supervisor):
    number = Record.objects.of_chain(north.family.public_id).get(kind="care_plan").number
    address = of(north.family, "void-new", number=number)

    assert "No care plan is left" in supervisor.get(address).content.decode()
    assert "No care plan is left" in said(send(supervisor, address, reason=REASON))


# Overrides


def kept_out(home):
    """A pass at the tube change before suctioning was signed off."""
    return show(home, home.mother, "tube_change", TODAY - timedelta(days=3))


def test_an_override_lets_the_pass_count(north, supervisor):
    sign_off_suction(north, north.mother, last=TODAY - timedelta(days=2))
    made = kept_out(north)
    send(supervisor, of(north.family, "override-new", number=made.number), reason=REASON)

    assert cell(north, "tube_change").standing is Standing.SIGNED_OFF


@pytest.mark.parametrize("skill", ["hands", "suction"])
def test_a_pass_that_counts_needs_no_override(north, supervisor, skill):
    made = show(north, north.mother, skill, TODAY - timedelta(days=3))

    assert supervisor.get(of(north.family, "override-new", number=made.number)).status_code == 404


@pytest.mark.parametrize(
    "changes", [{"purpose": "practice"}, {"results": {**ALL_ALONE["tube_change"], "s01": "omitted"}}]
)
def test_what_no_rule_kept_out_is_not_overridden(north, supervisor, changes):
    made = show(north, north.mother, "tube_change", TODAY - timedelta(days=3), **changes)

    assert supervisor.get(of(north.family, "override-new", number=made.number)).status_code == 404


def test_an_override_is_given_once(north, supervisor):
    made = kept_out(north)
    address = of(north.family, "override-new", number=made.number)
    send(supervisor, address, reason=REASON)

    assert send(supervisor, address, reason=REASON).status_code == 404


def test_the_same_override_sent_twice_is_one_record(north, supervisor):
    made, intent = kept_out(north), str(uuid.uuid4())
    before = count(north.family)
    for _ in range(2):
        answer = send(supervisor, of(north.family, "override-new", number=made.number), reason=REASON, intent=intent)

    assert (answer.status_code, count(north.family)) == (302, before + 1)


# Two observers


def disputed(home):
    second = {"observer": home.supervisor.observer_id, "results": {"s01": "independent", "s02": "omitted"}}
    return show(home, home.mother, "hands", TODAY - timedelta(days=3), second=second)


def test_each_choice_says_what_was_seen(north, supervisor):
    made = disputed(north)
    form = supervisor.get(of(north.family, "resolution-new", number=made.number)).context["form"]

    assert form.fields["take"].choices == [
        ("lead", f"{north.educator.signed_name}: Passed"),
        ("second", f"{north.supervisor.signed_name}: Critical"),
    ]


@pytest.mark.parametrize(("take", "standing"), [("lead", Standing.SIGNED_OFF), ("second", Standing.IN_TRAINING)])
def test_the_one_that_is_taken_stands(north, supervisor, take, standing):
    made = disputed(north)
    send(supervisor, of(north.family, "resolution-new", number=made.number), take=take, reason=REASON)

    assert cell(north, "hands").standing is standing


def test_one_observer_leaves_nothing_to_resolve(north, supervisor):
    made = show(north, north.mother, "hands", TODAY - timedelta(days=3))

    assert supervisor.get(of(north.family, "resolution-new", number=made.number)).status_code == 404


def test_typed_markup_is_only_text(north, supervisor):
    made = show(north, north.mother, "hands", TODAY - timedelta(days=1))
    answer = send(supervisor, of(north.family, "void-new", number=made.number), reason="<b>x</b>", password="no")

    assert "&lt;b&gt;x&lt;/b&gt;" in answer.content.decode()
