"""Two editions side by side: every kind of change of a step, of the standard, of the conditions."""

from __future__ import annotations

import pytest

from training.curriculum.comparing import compare
from training.curriculum.words import Words

NOBODY = Words(title="", notice="", is_sample=False, facts={"cuff": {"title": "Cuff"}}, skills={}, steps={})
STEPS = [{"code": code, "text": code.upper()} for code in "abcde"]


def body(steps=STEPS, **changes):
    return {"edition": 1, "standard": {"needs": [{"passes": 2}], "valid_for": "P1Y"}, "steps": steps, **changes}


def without(*codes):
    return [s for s in STEPS if s["code"] not in codes]


def with_(code, **changes):
    return [{**s, **changes} if s["code"] == code else s for s in STEPS]


def steps(new, old=STEPS):
    lines = compare(body(old), body(new), NOBODY).steps
    return [(line.what, line.old_number, line.new_number) for line in lines if line.what != "same"]


@pytest.mark.parametrize(
    ("new", "expected"),
    [
        (STEPS, []),
        ([*STEPS, {"code": "f", "text": "F"}], [("added", None, 6)]),
        ([{"code": "f", "text": "F"}, *STEPS], [("added", None, 1)]),
        (without("c"), [("removed", 3, None)]),
        (without("a", "e"), [("removed", 1, None), ("removed", 5, None)]),
        ([*without("a"), STEPS[0]], [("moved", 1, 5)]),
        ([STEPS[4], *STEPS[:4]], [("moved", 5, 1)]),
        (with_("b", text="other"), [("changed", 2, 2)]),
        (with_("b", critical=True), [("changed", 2, 2)]),
        ([], [("removed", n, None) for n in range(1, 6)]),
    ],
)
def test_what_became_of_each_step(new, expected):
    assert steps(new) == expected


@pytest.mark.parametrize(
    ("changes", "details"),
    [
        ({"critical": True}, ("Critical", "no", "yes")),
        ({"may_skip": True}, ("May be skipped", "no", "yes")),
        ({"measure": {"unit": "s", "high": 10}}, ("Measured", "", "at most 10 s")),
        ({"roles": ["lead"]}, ("Role", "", "leading")),
        ({"applies_when": {"cuff": ["air"]}}, ("Condition", "", "Cuff: air")),
        ({"plain": "Wash."}, ("Caregiver wording", "", "Wash.")),
        ({"why": "Germs."}, ("Why it matters", "", "Germs.")),
        ({"watch": "Rings."}, ("Common mistakes", "", "Rings.")),
        ({"source": "Ours."}, ("Source", "", "Ours.")),
    ],
)
def test_what_a_changed_step_says_otherwise(changes, details):
    line = next(line for line in compare(body(), body(with_("b", **changes)), NOBODY).steps if line.what == "changed")

    assert line.details == (details,)


def test_a_changed_step_that_moved_says_where():
    new = [*without("a"), {**STEPS[0], "text": "other"}]
    line = next(line for line in compare(body(), body(new), NOBODY).steps if line.what == "changed")

    assert line.details == (("Place", "1", "5"),)


def test_the_standard_is_compared_in_sentences():
    new = body(standard={"needs": [{"passes": 3}], "valid_for": "P1Y", "signatures": ["educator"]})
    lines = [(line.what, line.old, line.new) for line in compare(body(), new, NOBODY).standard if line.what != "same"]

    assert lines == [("changed", "2 passes.", "3 passes."), ("added", "", "Then signed by the educator.")]


def test_the_conditions_are_compared_in_sentences():
    found = compare(body(), body(needs_authorisation=True, older_sign_offs="recheck"), NOBODY)

    assert [line.new for line in found.rules if line.what != "same"] == [
        "Counts on the patient only with the prescriber’s authorisation.",
        "Sign-offs on older editions are shown again from its first day.",
    ]
    assert found.count == 2
