"""Drafts: what is kept, what a stop does, how a typed number is written."""

from __future__ import annotations

import uuid
from datetime import date, timedelta
from decimal import Decimal

import pytest

from competency.chain import canonical
from competency.records import Stopped
from competency.scoring import Outcome
from tests.cast import NOW, TODAY, Cast, plan
from training.standing import drafts
from training.standing.deeds import body_of
from training.standing.drafts import Attempt, NoNumberError, NotYourDraftError
from training.standing.file import open_file
from training.standing.models import Draft


def data(cast: Cast, skill: str = "suction", **changes):
    chosen = {
        "purpose": "assessment",
        "on": TODAY,
        "time": "09:30",
        "skill": skill,
        "edition": 1,
        "setting": "patient",
        "role": "lead",
        "mode": "in_person",
        "place": "hospital",
        "observer": cast.north.educator,
        "began": None,
    }
    return drafts.beginning(**{**chosen, **changes})


def begin(cast: Cast, skill: str = "suction", *, intent: uuid.UUID | None = None, by=None, **changes) -> Draft:
    return drafts.start(
        author=by or cast.north.educator,
        caregiver=cast.north.mother,
        data=data(cast, skill, **changes),
        intent=intent or uuid.uuid4(),
        at=NOW,
    )


def attempt(draft: Draft, cast: Cast) -> Attempt:
    file = open_file(cast.north.family)
    return Attempt(file.history(), file.words, draft, NOW)


def codes(rows):
    return [row.step.code for row in rows]


# Numbers


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("12", "12"), ("7.5", "7.5"), ("7,5", "7.5"), (" 8 ", "8"), ("007", "7"), ("-120", "-120"), ("−120", "-120"),
     ("12.25", "12.25"), ("٧", "7")],
)  # fmt: skip
def test_a_number_is_kept_as_one_text(typed, kept):
    assert drafts.number_typed(typed) == kept


@pytest.mark.parametrize(
    "typed", ["", "abc", "1,000", "1.000", "1e3", "NaN", "inf", "12 s", "1.2.3", "--1", "12345678"]
)
def test_what_is_no_number_or_two_is_refused(typed):
    with pytest.raises(NoNumberError):
        drafts.number_typed(typed)


@pytest.mark.parametrize(
    ("text", "written"), [("12", 12), ("12.0", 12), ("7.50", Decimal("7.5")), ("-0", 0), ("0.1", Decimal("0.1"))]
)
def test_a_typed_value_is_written_as_a_number(text, written):
    assert drafts.as_written({"a": {"result": "independent", "value": text}})["a"]["value"] == written


def test_a_fraction_has_a_canonical_form(cast):
    draft = begin(cast)
    drafts.answer(draft, step="s03", result="independent", value="7.5", at=NOW)

    assert b'"value":7.5' in canonical(body_of(draft))


# Starting


def test_a_draft_starts_without_results(cast):
    assert begin(cast).data["results"] == {}


def test_the_address_of_a_draft_is_its_intent(cast):
    draft = begin(cast)

    assert draft.public_id == draft.intent


def test_the_same_intent_twice_is_one_draft(cast):
    intent = uuid.uuid4()

    assert begin(cast, intent=intent) == begin(cast, intent=intent)


def test_before_the_first_step_the_later_choice_counts(cast):
    intent = uuid.uuid4()
    begin(cast, intent=intent)

    assert begin(cast, intent=intent, purpose="practice").data["purpose"] == "practice"


def test_after_the_first_step_the_purpose_stays(cast):
    intent = uuid.uuid4()
    drafts.answer(begin(cast, intent=intent), step="s01", result="omitted", at=NOW)

    assert begin(cast, intent=intent, purpose="practice").data["purpose"] == "assessment"


def test_another_persons_intent_is_refused(cast):
    intent = uuid.uuid4()
    begin(cast, intent=intent)

    with pytest.raises(NotYourDraftError):
        begin(cast, intent=intent, by=cast.north.supervisor)


# Steps


def test_critical_and_measured_steps_are_asked_one_by_one(cast):
    assert codes(attempt(begin(cast), cast).screens) == ["s01", "s03"]


def test_the_others_are_one_list(cast):
    assert codes(attempt(begin(cast), cast).rest) == ["s02", "s04", "s06"]


def test_a_step_the_care_plan_rules_out_is_not_asked(cast):
    assert "s05" not in codes(attempt(begin(cast), cast).rows)


def test_a_fact_that_becomes_unknown_brings_its_step(cast):
    plan(cast.north, cast.north.family, TODAY - timedelta(days=1), {"suction": True, "tube_id_mm": 5})

    assert "s05" in codes(attempt(begin(cast), cast).rows)


def test_the_assisting_role_has_its_own_steps(cast):
    assert codes(attempt(begin(cast, "tube_change", role="assist"), cast).rows) == ["s01", "s03"]


def test_steps_keep_their_numbers_in_the_checklist(cast):
    assert [row.number for row in attempt(begin(cast), cast).rows] == [1, 2, 3, 4, 6]


def test_all_others_alone_leaves_the_measured_step_open(cast):
    draft = begin(cast)
    drafts.all_others_alone(draft, attempt(draft, cast), at=NOW)

    assert codes(attempt(draft, cast).missing) == ["s01", "s03"]


def test_all_others_alone_keeps_the_exceptions(cast):
    draft = begin(cast)
    drafts.answer(draft, step="s04", result="prompted", at=NOW)
    drafts.all_others_alone(draft, attempt(draft, cast), at=NOW)

    assert draft.data["results"]["s04"] == "prompted"


@pytest.mark.parametrize("result", ["not_seen", "not_applicable"])
def test_what_was_not_seen_has_no_value(cast, result):
    draft = begin(cast)
    drafts.answer(draft, step="s03", result=result, value="8", at=NOW)

    assert draft.data["results"]["s03"] == result


@pytest.mark.parametrize(("value", "shown"), [("10", "independent"), ("10.01", "outside"), ("11", "outside")])
def test_beyond_its_limit_a_step_is_shown_outside(cast, value, shown):
    draft = begin(cast)
    drafts.answer(draft, step="s03", result="independent", value=value, at=NOW)

    assert next(r for r in attempt(draft, cast).rows if r.step.code == "s03").shown == shown


def test_a_change_is_kept_with_its_time(cast):
    draft = begin(cast)
    later = NOW + timedelta(minutes=3)
    drafts.answer(draft, step="s01", result="prompted", at=later)

    assert Draft.objects.get().changed_at == later


@pytest.mark.parametrize(
    ("answers", "outcome"),
    [
        ({}, Outcome.PASSED),
        ({"s01": "prompted"}, Outcome.CRITICAL),
        ({"s01": "not_seen"}, Outcome.INCOMPLETE),
        ({"s02": "omitted"}, Outcome.PASSED),
        ({"s02": "omitted", "s04": "omitted"}, Outcome.NOT_PASSED),
    ],
)
def test_what_it_can_still_become(cast, answers, outcome):
    draft = begin(cast)
    for step, result in answers.items():
        drafts.answer(draft, step=step, result=result, at=NOW)

    assert attempt(draft, cast).best_outcome is outcome


def test_how_many_were_done_alone(cast):
    draft = begin(cast)
    for step, result in {"s01": "independent", "s02": "prompted", "s06": "not_applicable"}.items():
        drafts.answer(draft, step=step, result=result, at=NOW)

    assert attempt(draft, cast).counted == (1, 2)


# Stopping


def test_the_step_under_way_and_later_ones_were_not_seen(cast):
    draft = begin(cast)
    drafts.answer(draft, step="s01", result="independent", at=NOW)
    drafts.stop(draft, attempt(draft, cast), whose=Stopped.PATIENT, under_way="s03", at=NOW)

    assert draft.data["results"] == {"s01": "independent", "s03": "not_seen", "s04": "not_seen", "s06": "not_seen"}


def test_what_came_before_the_stop_is_still_to_be_chosen(cast):
    draft = begin(cast)
    drafts.stop(draft, attempt(draft, cast), whose=Stopped.CAREGIVER, under_way="s03", at=NOW)

    assert codes(attempt(draft, cast).missing) == ["s01", "s02"]


def test_a_stop_for_safety_is_critical(cast):
    draft = begin(cast)
    drafts.stop(draft, attempt(draft, cast), whose=Stopped.CAREGIVER, under_way=None, at=NOW)

    assert attempt(draft, cast).best_outcome is Outcome.CRITICAL


def test_a_stop_can_be_taken_back(cast):
    draft = begin(cast)
    for whose in (Stopped.CAREGIVER, None):
        drafts.stop(draft, attempt(draft, cast), whose=whose, under_way="s03", at=NOW)

    assert draft.data["stopped"] is None


# Words


def test_the_line_for_next_time_is_part_of_the_body(cast):
    draft = begin(cast)
    drafts.keep_words(draft, attempt(draft, cast), reteach="Wash first.", reteach_on=date(2026, 5, 16), note="", at=NOW)

    assert body_of(draft)["reteach"] == {"line": "Wash first.", "on": "2026-05-16"}


@pytest.mark.parametrize("key", ["reteach", "note"])
def test_what_is_not_written_is_not_in_the_body(cast, key):
    draft = begin(cast)
    drafts.keep_words(draft, attempt(draft, cast), reteach="", reteach_on=None, note="", at=NOW)

    assert key not in body_of(draft)


def test_a_result_of_a_step_that_no_longer_applies_is_dropped(cast):
    draft = begin(cast)
    drafts.answer(draft, step="s05", result="independent", at=NOW)
    drafts.keep_words(draft, attempt(draft, cast), reteach="", reteach_on=None, note="", at=NOW)

    assert "s05" not in draft.data["results"]


def test_the_caregivers_own_account_cannot_observe(cast):
    mother = cast.north.mother
    mother.user = cast.north.educator.user

    assert drafts.observes_themself(cast.north.educator, mother)


def test_a_caregiver_without_an_account_is_nobody_elses(cast):
    assert not drafts.observes_themself(cast.north.educator, cast.north.mother)
