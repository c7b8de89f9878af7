"""The steps, one by one and as a list, and stopping."""

from __future__ import annotations

from datetime import timedelta

import pytest

from tests.cast import ALL_ALONE, TODAY, show
from training.standing.models import Draft


def text(bedside, name, query="", **more):
    answer = bedside.client.get(bedside.url(name, **more) + query)
    assert answer.status_code == 200
    return answer.content.decode()


# One by one


@pytest.mark.parametrize(
    "words", ["Critical step, 1 of 2", "Step 1", "Washes hands", "Independent", "Prompted", "Assisted", "Omitted",
              "Not seen", "Kept 10:00. Not signed yet.", "Suctioning, edition 1 · assessment"],
)  # fmt: skip
def test_a_critical_step_says(bedside, words):
    bedside.start()

    assert words in text(bedside, "draft-step", place=1)


def test_the_likeliest_answer_is_the_widest(bedside):
    bedside.start()

    assert '<button class="r-choice r-choice-first" name="result" value="independent">' in text(
        bedside, "draft-step", place=1
    )


def test_a_critical_step_is_never_not_applicable(bedside):
    bedside.start()

    assert 'value="not_applicable"' not in text(bedside, "draft-step", place=1)


def test_a_measured_step_has_its_limit_in_words(bedside):
    bedside.start()

    assert "10 s or less" in text(bedside, "draft-step", place=2)


def test_an_answer_leads_to_the_next_question(bedside):
    bedside.start()

    assert bedside.step(1, "independent").url == bedside.url("draft-step", place=2)


def test_the_last_question_leads_to_the_list(bedside):
    bedside.start()
    bedside.step(1, "independent")

    assert bedside.step(2, "independent", value="8").url == bedside.url("draft-rest")


def test_the_chosen_answer_is_marked_when_one_comes_back(bedside):
    bedside.start()
    bedside.step(1, "assisted")

    assert 'value="assisted" aria-current="true"' in text(bedside, "draft-step", place=1)


def test_the_trouble_of_last_time_stands_at_its_step(bedside, cast):
    results = {**ALL_ALONE["suction"], "s01": "prompted"}
    reteach = {"line": "Wash first.", "on": None}
    show(cast.north, cast.north.mother, "suction", TODAY - timedelta(days=9), results=results, reteach=reteach)
    bedside.start()

    assert "Prompted at this step.</strong> Agreed then: “Wash first.”" in text(bedside, "draft-step", place=1)
    assert "at this step" not in text(bedside, "draft-step", place=2)


@pytest.mark.parametrize(
    ("sent", "field", "words"),
    [
        ({"value": "abc", "result": "independent"}, "value", "“abc” is no number. Write one such as 12 or 7.5."),
        ({"value": "1,000", "result": "prompted"}, "value", "“1,000” is no number. Write one such as 12 or 7.5."),
        ({"value": "", "result": "independent"}, "value", "Step 3 needs a number: it is measured."),
        ({"value": "8"}, "result", "Choose a result."),
        ({"value": "8", "result": "great"}, "result", "Choose one of the results shown."),
        ({"value": "8", "result": "not_applicable"}, "result", "Choose one of the results shown."),
    ],
)
def test_bad_input_is_named_and_nothing_kept(bedside, sent, field, words):
    bedside.start()
    answer = bedside.client.post(bedside.url("draft-step", place=2), sent)

    assert answer.context["form"].errors[field] == [words]
    assert bedside.draft.data["results"] == {}


def test_what_was_typed_is_kept(bedside):
    bedside.start()

    assert 'value="abc"' in bedside.step(2, "independent", value="abc").content.decode()


@pytest.mark.parametrize("value", ["12", "12.5", "12,5"])
def test_outside_its_limits_a_step_is_said_to_be_not_independent(bedside, value):
    bedside.start()
    answer = bedside.step(2, "independent", value=value)
    page = bedside.client.get(answer.url).content.decode()

    assert f"{value.replace(',', '.')} s, limit 10 s:" in page
    assert "outside its limits, so not independent, whatever is ticked." in page


def test_a_critical_step_that_was_helped_says_what_follows(bedside):
    bedside.start()
    page = bedside.client.get(bedside.step(1, "prompted").url).content.decode()

    assert "This attempt can no longer pass." in page


def test_a_critical_step_that_was_not_seen_says_what_follows(bedside):
    bedside.start()
    page = bedside.client.get(bedside.step(1, "not_seen").url).content.decode()

    assert "this attempt stays incomplete and moves nothing" in page


def test_practice_goes_straight_on(bedside):
    bedside.start(purpose="practice")

    assert bedside.step(1, "prompted").url == bedside.url("draft-step", place=2)


def test_a_fraction_is_kept_as_a_text(bedside):
    bedside.start()
    bedside.step(2, "prompted", value="7,5")

    assert bedside.draft.data["results"]["s03"] == {"result": "prompted", "value": "7.5"}


# The list


def test_the_list_has_the_other_steps(bedside):
    bedside.start()
    page = text(bedside, "draft-rest")

    assert [words in page for words in ("Checks the pressure", "Watches the breathing", "Washes hands")] == [
        True,
        True,
        False,
    ]


def test_all_others_alone(bedside):
    bedside.start()
    bedside.client.post(bedside.url("draft-rest"), {"all": "alone"})

    assert bedside.draft.data["results"] == dict.fromkeys(["s02", "s04", "s06"], "independent")


def test_an_exception_is_one_touch_on_its_row_and_one_on_its_answer(bedside):
    bedside.start()
    bedside.client.post(bedside.url("draft-rest"), {"all": "alone"})
    bedside.client.post(bedside.url("draft-rest") + "?step=s04", {"result": "prompted"})

    assert bedside.draft.data["results"]["s04"] == "prompted"


@pytest.mark.parametrize(("step", "offered"), [("s06", True), ("s04", False)])
def test_not_applicable_is_offered_only_where_a_step_may_be_skipped(bedside, step, offered):
    bedside.start()

    assert ('value="not_applicable"' in text(bedside, "draft-rest", f"?step={step}")) is offered


def test_a_step_that_may_not_be_skipped_is_not(bedside):
    bedside.start()
    answer = bedside.client.post(bedside.url("draft-rest") + "?step=s04", {"result": "not_applicable"})

    assert answer.context["form"].errors["result"] == ["Choose one of the results shown."]


def test_a_missing_result_is_named_at_its_row(bedside):
    bedside.start()
    bedside.client.post(bedside.url("draft-rest") + "?step=s04", {"result": "prompted"})
    page = bedside.client.post(bedside.url("draft-rest"), {"done": "yes"}).content.decode()

    assert "2 steps have no result" in page
    assert "Step 2 has no result. Choose one." in page
    assert "Step 4 has no result" not in page


def test_a_whole_list_leads_to_the_outcome(bedside):
    bedside.start()
    bedside.client.post(bedside.url("draft-rest"), {"all": "alone"})

    assert bedside.client.post(bedside.url("draft-rest"), {"done": "yes"}).url == bedside.url()


def test_the_rest_of_a_short_checklist_is_one_step(bedside):
    bedside.start("tube_change", setting="model")

    assert "The other step<" in text(bedside, "draft-rest")


# Stopping


@pytest.mark.parametrize(
    "words", ["Look after Ilse first.", "Ilse needed it", "Marit was not safe to go on", "Not stopping",
              "Counting starts again from this attempt."],
)  # fmt: skip
def test_stopping_is_asked(bedside, words):
    bedside.start()

    assert words in text(bedside, "draft-stop", "?at=s01")


def test_asking_stops_nothing(bedside):
    bedside.start()
    text(bedside, "draft-stop", "?at=s01")

    assert bedside.draft.data["stopped"] is None


@pytest.mark.parametrize("whose", ["patient", "caregiver"])
def test_a_stop_is_kept_with_its_reason(bedside, whose):
    bedside.start()
    bedside.client.post(bedside.url("draft-stop") + "?at=s03", {"whose": whose})

    assert bedside.draft.data["stopped"] == whose
    assert bedside.draft.data["results"] == dict.fromkeys(["s03", "s04", "s06"], "not_seen")


def test_a_stop_without_a_reason_stops_nothing(bedside):
    bedside.start()
    page = bedside.client.post(bedside.url("draft-stop"), {}).content.decode()

    assert "Choose for whose sake it stops, or go on." in page
    assert bedside.draft.data["stopped"] is None


def test_a_made_up_reason_is_not_there(bedside):
    bedside.start()

    assert bedside.client.post(bedside.url("draft-stop"), {"whose": "nurse"}).status_code == 404


def test_a_stop_is_taken_back(bedside):
    bedside.start()
    for whose in ("patient", "nobody"):
        bedside.client.post(bedside.url("draft-stop"), {"whose": whose})

    assert bedside.draft.data["stopped"] is None


# The draft


def test_a_draft_goes_on_where_it_stopped(bedside):
    bedside.start()
    bedside.step(1, "independent")

    assert f'href="{bedside.url("draft-step", place=2)}"' in text(bedside, "draft")


def test_a_draft_is_thrown_away_only_when_asked(bedside):
    bedside.start()
    page = text(bedside, "draft-discard")

    assert "Throw this draft away?" in page
    assert Draft.objects.exists()


def test_a_draft_that_is_thrown_away_is_gone(bedside):
    bedside.start()
    url = bedside.url()
    bedside.client.post(bedside.url("draft-discard"))

    assert not Draft.objects.exists()
    assert bedside.client.get(url).status_code == 404
