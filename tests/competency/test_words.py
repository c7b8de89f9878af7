"""Every reason has words in both registers, and a caregiver's never hurt."""

import re
from datetime import date

import pytest

from competency.reasons import Reason
from competency.words import TEMPLATES, Register, say, variant
from tests.competency.build import history, shown

HURTFUL = re.compile(r"fail|laps|withdr|unsafe|overdue|expire", re.IGNORECASE)


@pytest.mark.parametrize("name", TEMPLATES)
def test_a_caregiver_never_reads_a_word_that_hurts(name):
    assert not HURTFUL.search(TEMPLATES[name][1])


@pytest.mark.parametrize("name", TEMPLATES)
def test_both_registers_name_only_what_a_reason_can_fill(name):
    known = {"facts", "on", "last_day", "renewal_through", "shown_on", "have", "of", "kind", "how", "more", "skill",
             "through", "fact", "opens_on", "steps", "gate"}  # fmt: skip

    assert set(re.findall(r"{(\w+)}", " ".join(TEMPLATES[name]))) <= known


NEED = {"have": 1, "of": 2, "days": 2, "days_have": 1, "observers": 1, "observers_have": 1, "places": 1,
        "places_have": 1, "within": False, "setting": frozenset({"patient"}), "role": frozenset(), "mode": frozenset(),
        "place": frozenset(), "last_on": None}  # fmt: skip


@pytest.mark.parametrize(
    ("about", "words"),
    [
        ({}, "1 of 2 passes on the patient. 1 more, on another day."),
        ({"have": 2}, "2 of 2 passes on the patient; one more, on another day."),
        ({"have": 0, "days_have": 0}, "0 of 2 passes on the patient. 2 more, on different days."),
        ({"days": 1, "role": frozenset({"lead"})}, "1 of 2 passes on the patient, leading. 1 more."),
    ],
)
def test_what_is_still_needed(about, words):
    assert say(Reason("needs", False, NEED | about), Register.CLINICIAN) == words


def test_a_date_is_written_as_people_say_it():
    reason = Reason("lapsed", False, {"last_day": date(2026, 5, 9), "renewal_through": None})

    assert say(reason, Register.CLINICIAN).startswith("9 May 2026 was the last day.")


def test_every_reason_of_a_case_can_be_said():
    from competency.reasons import reasons

    found = history(shown("2025-01-10", purpose="practice"))
    day = date(2025, 2, 1)
    why = reasons(found, day, found.at_end_of(day, "ana"), "s")

    assert {variant(r) for r in why} <= set(TEMPLATES)
    assert all(say(r, register) for r in why for register in Register)
