"""A standard in words: what is typed becomes needs, sentences, and an example that the rules have worked out."""

from __future__ import annotations

from datetime import date

import pytest

from tests.cast import TODAY
from training.curriculum.worked_example import TooManyError, stories


def rows(prefix, *needs):
    data = {f"{prefix}-TOTAL_FORMS": max(1, len(needs)), f"{prefix}-INITIAL_FORMS": 0}
    for n, need in enumerate(needs):
        data |= {f"{prefix}-{n}-{key}": value for key, value in need.items()}
    return data


def post(*needs, renewal=(), **changes):
    return {
        "version": 1,
        "evidence": "demonstration",
        "pass_mark": 100,
        "after_failure": "restart",
        "valid_to": "day",
        "valid_for_n": "12",
        "valid_for_unit": "M",
        **rows("needs", *needs),
        **rows("renewal", *renewal),
        **changes,
    }


WANTED = {"passes": 3, "setting": ["patient"], "days": 2, "observers": 2, "within_n": 30, "within_unit": "D"}


def standard_of(draft):
    draft.refresh_from_db()
    return draft.body["edition"]["standard"]


def test_plain_fields_become_a_standard(educator, draft, page):
    educator.post(page("edition-standard", "suction"), post(WANTED))

    assert standard_of(draft) == {
        "needs": [{"passes": 3, "setting": ["patient"], "days": 2, "observers": 2, "within": "P30D"}],
        "valid_for": "P12M",
    }


def test_everything_a_standard_can_say(educator, draft, page):
    changes = {
        "pass_mark": 80,
        "after_failure": "keep",
        "signatures": ["caregiver", "educator"],
        "first_valid_for_n": "3",
        "first_valid_for_unit": "M",
        "valid_to": "month_end",
        "grace_n": "0",
        "grace_unit": "D",
    }

    educator.post(
        page("edition-standard", "suction"),
        post(WANTED, {"passes": 1, "setting": ["simulation"]}, renewal=[{"passes": 2, "places": 2}], **changes),
    )

    found = standard_of(draft)
    assert found["needs"][1] == {"passes": 1, "setting": ["simulation"]}
    assert found["renewal"] == [{"passes": 2, "places": 2}]
    assert {
        key: found[key] for key in ("pass_mark", "after_failure", "signatures", "first_valid_for", "valid_to", "grace")
    } == {
        "pass_mark": 80,
        "after_failure": "keep",
        "signatures": ["caregiver", "educator"],
        "first_valid_for": "P3M",
        "valid_to": "month_end",
        "grace": "P0D",
    }


def test_showing_says_it_and_saves_nothing(educator, draft, page):
    before = standard_of(draft)

    said = educator.post(page("edition-standard", "suction"), post(WANTED, show="yes")).content.decode()

    assert "3 passes on the patient, on 2 different days, before 2 different observers, within 30 days." in said
    assert "Holds 1 year." in said
    assert "26 May 2026 through 26 May 2027" in said  # 14, 20 and 26 May; signed off on the third
    assert standard_of(draft) == before


@pytest.mark.parametrize(
    ("needs", "said"),
    [
        ({**WANTED, "passes": -1}, "passes"),
        ({**WANTED, "passes": 0}, "passes"),
        ({**WANTED, "days": -2}, "days"),
        ({**WANTED, "within_n": 0}, "within"),
        ({**WANTED, "passes": ""}, "passes"),
    ],
)
def test_counts_that_cannot_be_are_refused_at_their_field(educator, draft, page, needs, said):
    answer = educator.post(page("edition-standard", "suction"), post(needs))

    assert said in answer.context["form"].needs[0].errors
    assert standard_of(draft)["needs"][0]["passes"] == 2


@pytest.mark.parametrize(
    ("needs", "said"),
    [
        ([{**WANTED, "days": 40, "within_n": 30}], "days: 40 different days do not fit into 31"),
        ([{"passes": 2, "places": 2, "place": ["home"]}], "asks for 2 different places and looks only at 1"),
        ([], "Say at least one need: how many passes."),
    ],
)
def test_a_standard_nobody_could_meet_is_refused(educator, draft, page, needs, said):
    answer = educator.post(page("edition-standard", "suction"), post(*needs))

    assert said.casefold() in answer.content.decode().casefold()
    assert standard_of(draft)["needs"][0]["passes"] == 2


def test_a_card_has_no_needs(educator, draft, page):
    educator.post(page("edition-standard", "suction"), post(evidence="certificate"))

    assert standard_of(draft) == {"evidence": "certificate"}


# The example ----------------------------------------------------------------------------------------------

START = date(2026, 3, 3)


def told(standard, kind):
    story = next(s for s in stories(standard, START) if s.kind == kind)
    return (
        [(t.on.isoformat()[5:], t.passed) for t in story.tries],
        [(s.value.value, s.start.isoformat(), s.through.isoformat() if s.through else None) for s in story.spans],
    )


@pytest.mark.parametrize(
    ("standard", "kind", "tries", "spans"),
    [
        ({"needs": [{"passes": 2, "days": 2}], "valid_for": "P1Y"}, "first",
         [("03-03", True), ("03-09", True)],
         [("in_training", "2026-03-03", "2026-03-08"), ("signed_off", "2026-03-09", "2027-03-09"), ("lapsed", "2027-03-10", None)]),
        ({"needs": [{"passes": 2, "days": 2}], "valid_for": "P1Y"}, "again",
         [("03-02", True)],
         [("in_training", "2026-03-03", "2026-03-08"), ("signed_off", "2026-03-09", "2028-03-02"), ("lapsed", "2028-03-03", None)]),
        ({"needs": [{"passes": 2}], "after_failure": "restart"}, "failure",
         [("03-03", True), ("03-09", False), ("03-15", True), ("03-21", True)],
         [("in_training", "2026-03-03", "2026-03-20"), ("signed_off", "2026-03-21", None)]),
        ({"needs": [{"passes": 2}], "after_failure": "keep"}, "failure",
         [("03-03", True), ("03-09", False), ("03-15", True)],
         [("in_training", "2026-03-03", "2026-03-14"), ("signed_off", "2026-03-15", None)]),
        ({"needs": [{"passes": 1}], "signatures": ["caregiver"], "valid_for": "P1M"}, "first",
         [("03-03", True)],
         [("awaiting", "2026-03-03", "2026-03-04"), ("signed_off", "2026-03-05", "2026-04-03"), ("lapsed", "2026-04-04", None)]),
    ],
)  # fmt: skip
def test_an_invented_caregiver(standard, kind, tries, spans):
    assert told(standard, kind) == (tries, spans)


def test_a_window_is_kept_to():
    story = stories({"needs": [{"passes": 5, "days": 5, "within": "P7D"}]}, START)[0]

    assert (story.tries[-1].on - story.tries[0].on).days <= 7
    assert story.spans[-1].value == "signed_off"


def test_very_many_passes_are_not_drawn(educator, draft, page):
    with pytest.raises(TooManyError):
        stories({"needs": [{"passes": 41}]}, START)
    said = educator.post(page("edition-standard", "suction"), post({"passes": 41}, show="yes")).content.decode()
    assert "more than 40 passes" in said


def test_the_example_begins_today(educator, draft, page):
    answer = educator.get(page("edition-standard", "suction"))

    assert answer.context["stories"][0]["tries"][0]["on"] == TODAY
