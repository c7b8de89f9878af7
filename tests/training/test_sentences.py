"""An edition in sentences."""

from __future__ import annotations

import pytest

from competency.programme import Measure
from training.curriculum.sentences import (
    fitted_words,
    measure_words,
    need_words,
    period_words,
    standard_brief,
    standard_words,
)
from training.curriculum.words import Words

WORDS = Words(title="", notice="", is_sample=True, facts={"most_s": {"title": "Longest pass"}}, skills={}, steps={})


@pytest.mark.parametrize(
    ("period", "words"),
    [
        ("P1D", "1 day"),
        ("P30D", "30 days"),
        ("P2W", "14 days"),
        ("P6M", "6 months"),
        ("P12M", "1 year"),
        ("P2Y", "2 years"),
        ("P18M", "18 months"),
        ("P1M15D", "1 month 15 days"),
        ("P0D", "0 days"),
    ],
)
def test_a_period(period, words):
    assert period_words(period) == words


@pytest.mark.parametrize(
    ("need", "words"),
    [
        ({}, "1 pass"),
        ({"passes": 2, "setting": ["patient"], "days": 2}, "2 passes on the patient, on 2 different days"),
        ({"passes": 3, "observers": 2, "places": 2}, "3 passes, before 2 different observers, in 2 different places"),
        ({"role": ["lead"], "mode": ["remote"]}, "1 pass leading by video"),
        (
            {"setting": ["model", "simulation"], "within": "P14D"},
            "1 pass on a model or in a simulation, within 14 days",
        ),
    ],
)
def test_a_need(need, words):
    assert need_words(need) == words


@pytest.mark.parametrize(
    ("measure", "words"),
    [
        (None, ""),
        ({"unit": "s", "high": 10}, "at most 10 s"),
        ({"unit": "cm", "low": 2}, "at least 2 cm"),
        ({"unit": "mm", "low": 2, "high": 4.5}, "2 to 4.5 mm"),
        ({"unit": "s"}, "in s"),
        (
            {"unit": "s", "high": 10, "order": {"high": "most_s"}},
            "at most 10 s, unless the prescriber’s order says otherwise (at most: “Longest pass”)",
        ),
        (
            {"unit": "s", "order": {"low": "least_s", "high": "most_s"}},
            "in s, unless the prescriber’s order says otherwise (at least: “least_s”; at most: “Longest pass”)",
        ),
    ],
)
def test_limits(measure, words):
    assert measure_words(measure, WORDS) == words


@pytest.mark.parametrize(
    ("measure", "words"),
    [
        (Measure(unit="s", high=10), "at most 10 s"),
        (Measure(unit="s", high=7.5, is_ordered=True), "at most 7.5 s, as ordered"),
        (Measure(unit="mm", low=2.0, high=4.5), "2 to 4.5 mm"),
    ],
)
def test_limits_for_one_patient(measure, words):
    assert fitted_words(measure) == words


def body(**standard):
    return {"edition": 3, "standard": {"needs": [{"passes": 2}], **standard}}


@pytest.mark.parametrize(
    ("standard", "sentence"),
    [
        ({}, "Every step alone."),
        ({"pass_mark": 80}, "Pass mark 80 % of the steps alone; every critical step alone."),
        ({}, "Does not lapse."),
        ({"valid_for": "P6M"}, "Holds 6 months."),
        ({"valid_for": "P1Y", "first_valid_for": "P3M"}, "Holds 1 year, the first time 3 months."),
        ({"valid_for": "P1Y", "valid_to": "month_end"}, "Holds 1 year, through the end of that month."),
        ({"after_failure": "keep"}, "An attempt that was not passed takes no earlier pass away."),
        ({"signatures": ["educator", "caregiver"]}, "Then signed by the caregiver and the educator."),
        ({"valid_for": "P6M", "needs": [{"setting": ["patient"]}]}, "Renewed by 1 pass on the patient."),
        (
            {"valid_for": "P6M", "grace": "P30D"},
            "Within 30 days after its last day the same brings it back; later only a full sign-off does.",
        ),
    ],
)
def test_a_standard(standard, sentence):
    assert sentence in standard_words(body(**standard))


def test_a_card_has_no_steps():
    assert "no steps" in standard_words({"edition": 1, "standard": {"evidence": "certificate"}})[0]


def test_a_standard_in_one_line():
    assert standard_brief(body(valid_for="P6M")) == "ed. 3 · 2 passes · 6 months"


def test_more_needs_than_one_are_counted():
    assert standard_brief(body(needs=[{"passes": 2}, {}, {}])) == "ed. 3 · 2 passes · 2 more needs · does not lapse"
