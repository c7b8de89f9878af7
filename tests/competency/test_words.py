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
             "through", "fact", "opens_on", "steps", "gate", "passes", "times"}  # fmt: skip

    assert set(re.findall(r"{(\w+)}", " ".join(TEMPLATES[name]))) <= known


NEED = {"have": 1, "of": 2, "days": 2, "days_have": 1, "observers": 1, "observers_have": 1, "places": 1,
        "places_have": 1, "within": False, "setting": frozenset({"patient"}), "role": frozenset(), "mode": frozenset(),
        "place": frozenset(), "last_on": None}  # fmt: skip


NONE = {"have": 0, "days_have": 0, "observers_have": 0, "places_have": 0}
ENOUGH = {"have": 2, "days_have": 2}


@pytest.mark.parametrize(
    ("about", "staff", "own"),
    [
        ({}, "1 of 2 passes on the patient. 1 more, on another day.", "You have shown it 1 of 2 times on the patient. 1 more, on another day."),
        ({"days": 1, "role": frozenset({"lead"})}, "1 of 2 passes on the patient, leading. 1 more.", "You have shown it 1 of 2 times on the patient, doing it yourself. 1 more."),
        ({"days": 3}, "1 of 2 passes on the patient. 2 more, on 2 other days.", "You have shown it 1 of 2 times on the patient. 2 more, on 2 other days."),
        ({"have": 2}, "2 of 2 passes on the patient. 1 more, on another day.", "You have shown it often enough on the patient. 1 more, on another day."),
        (ENOUGH | {"have": 3, "observers": 3}, "2 of 2 passes on the patient. 2 more, before 2 other observers.", "You have shown it often enough on the patient. 2 more, with 2 other people watching."),
        (ENOUGH | {"observers": 2, "places": 2}, "2 of 2 passes on the patient. 1 more, before another observer, in another place.", "You have shown it often enough on the patient. 1 more, with somebody else watching, in another place."),
        (ENOUGH | {"within": True}, "2 of 2 passes on the patient, but not close enough together.", "You have shown it often enough on the patient, but the days lie too far apart. Show it again soon."),
        (NONE, "0 of 2 passes on the patient, on 2 different days.", "Show it twice on the patient, on 2 different days."),
        (NONE | {"of": 1, "days": 1}, "0 of 1 pass on the patient.", "Show it once on the patient."),
        (NONE | {"of": 3, "days": 1, "observers": 2, "within": True}, "0 of 3 passes on the patient, before 2 different observers, close together.", "Show it 3 times on the patient, with 2 different people watching, close together."),
    ],
)  # fmt: skip
def test_what_is_still_needed(about, staff, own):
    reason = Reason("needs", False, NEED | about)

    assert (say(reason, Register.CLINICIAN), say(reason, Register.CAREGIVER)) == (staff, own)


def test_a_date_is_written_as_people_say_it():
    reason = Reason("lapsed", False, {"last_day": date(2026, 5, 9), "renewal_through": None, "card": False})

    assert say(reason, Register.CLINICIAN).startswith("9 May 2026 was the last day.")


def test_every_reason_of_a_case_can_be_said():
    from competency.reasons import reasons

    found = history(shown("2025-01-10", purpose="practice"))
    day = date(2025, 2, 1)
    why = reasons(found, day, found.at_end_of(day, "ana"), "s")

    assert {variant(r) for r in why} <= set(TEMPLATES)
    assert all(say(r, register) for r in why for register in Register)
