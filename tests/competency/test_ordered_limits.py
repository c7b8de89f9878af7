"""Limits of a measured step that the prescriber's order states: the care plan's number first, else the programme's own.

Issue E, part 3. Common practice, no source: an order goes before a general figure.
"""

from __future__ import annotations

import pytest

from competency.fields import RefusedError
from competency.programme import Measure, fact_key
from tests.competency.build import EARLY, FACTS, case, data, edition, history, plan, shown, skill, standing

BOTH = Measure(unit="cmH2O", low=20, high=25, low_from="low", high_from="high")


def facts(**stated):
    return {name: fact_key(value) for name, value in stated.items()}


@pytest.mark.parametrize(
    ("reading", "stated", "low", "high"),
    [
        ("nothing ordered", {}, 20, 25),
        ("another fact", {"depth": 9}, 20, 25),
        ("both ordered", {"low": 24, "high": 30}, 24, 30),
        ("one side ordered, the other stays", {"high": 22}, 20, 22),
        ("one side ordered, the other stays", {"low": 22}, 22, 25),
        ("just met", {"high": 20}, 20, 20),
        ("the programme's own gives way where it contradicts the order", {"high": 18}, None, 18),
        ("the programme's own gives way where it contradicts the order", {"low": 26}, 26, None),
        ("two orders that contradict each other: nothing is within", {"low": 30, "high": 24}, 30, 24),
        ("with a fraction", {"high": 22.5}, 20, 22.5),
        ("zero is a number", {"low": 0}, 0, 25),
    ],
)
def test_the_order_goes_before_the_programmes_own(reading, stated, low, high):
    fitted = BOTH.fitted(facts(**stated))

    assert (fitted.low, fitted.high) == (low, high), reading


def test_a_measure_without_an_order_is_itself():
    plain = Measure(unit="s", high=10)

    assert plain.fitted(facts(high=3)) is plain


def test_a_fitted_measure_says_which_side_was_ordered():
    assert BOTH.fitted(facts(high=22)).is_ordered
    assert not BOTH.fitted(facts(depth=9)).is_ordered


# In a case ------------------------------------------------------------------------------------------------

STEP = {"code": "a", "critical": True, "measure": {"unit": "s", "high": 10, "order": {"high": "seconds"}}}
TIMED = [skill("s", edition(steps=[STEP]))]


def seen(day, value, **changes):
    return shown(day, results={"a": {"result": "independent", "value": value}}, **changes)


def planned(*entries):
    return {"skills": TIMED, "care_plan": list(entries)}


@pytest.mark.parametrize(
    ("source", "stated", "value", "expected"),
    [
        ("no order: the programme's 10 s, inclusive", {}, 10, "signed_off"),
        ("no order: the moment after", {}, 10.1, "in_training"),
        ("an order of 5 s, inclusive", {"seconds": 5}, 5, "signed_off"),
        ("an order of 5 s, the moment after", {"seconds": 5}, 5.1, "in_training"),
        ("an order above the programme's own", {"seconds": 15}, 12, "signed_off"),
    ],
)
def test_a_value_is_judged_by_the_order_of_its_moment(source, stated, value, expected):
    found = history(seen("2025-01-10", value), **planned(plan(facts=FACTS | stated)))

    assert standing(found, "2025-01-10") == expected, source


def test_an_order_changed_later_never_scores_again():
    stricter = plan("2025-02-01", FACTS | {"seconds": 5})
    found = history(seen("2025-01-10", 8), **planned(plan(), stricter))

    assert standing(found, "2025-02-01") == "signed_off"


def test_an_order_entered_late_for_an_earlier_day_never_scores_again():
    late = plan("2025-01-05", FACTS | {"seconds": 5}, recorded_at="2025-01-11T08:00:00Z")
    found = history(seen("2025-01-10", 8), **planned(plan(), late))

    assert standing(found, "2025-01-11") == "signed_off"


def test_an_order_is_no_condition_so_a_family_without_one_is_not_asked_for_it():
    found = history(**planned(plan()))

    assert "seconds" not in found.known.programme.facts_asked_on(found.known.first_day)


# Refused --------------------------------------------------------------------------------------------------

MEASURE = "programme.skills[0].editions[0].steps[0].measure"


def measured(**order):
    step = STEP | {"measure": {"unit": "s", "high": 10, **order}}
    return data(skills=[skill("s", edition(steps=[step]))])


@pytest.mark.parametrize(
    ("what", "made", "path"),
    [
        ("an order that names no fact", measured(order={"high": ""}), f"{MEASURE}.order.high"),
        ("an order for a side there is none of", measured(order={"middle": "seconds"}), f"{MEASURE}.order.middle"),
        ("an order that is a list", measured(order=["seconds"]), f"{MEASURE}.order"),
        ("a limit that is a text", data(**planned(plan(facts={"seconds": "ten"}))), "care_plan[0].facts.seconds"),
        ("a limit that is true", data(**planned(plan(facts={"seconds": True}))), "care_plan[0].facts.seconds"),
    ],
)
def test_what_cannot_be_a_limit_is_refused_by_its_path(what, made, path):
    from competency.reading import read_case

    with pytest.raises(RefusedError) as refused:
        read_case(made)

    assert [p.path for p in refused.value.problems] == [path], what


def test_the_same_text_is_a_fact_like_any_other_where_no_limit_is_taken_from_it():
    assert case(care_plan=[plan(facts={"seconds": "ten"})], skills=[skill("s", edition(recorded_at=EARLY))])
