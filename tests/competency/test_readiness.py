"""Sets, team, items, facts, exceptions and the verdict (design 4.7)."""

from datetime import date

import pytest

from competency.programme import Alternative, People
from competency.readiness import held_points
from competency.standing import Line, Standing
from competency.team import Person, first_met, is_old_enough
from tests.competency.build import EARLY, FIRST, edition, history, shown, skill, standard

DAY = date(2025, 3, 1)


def person(name, *sets, born=date(1990, 1, 1), is_patient=False):
    return Person(name, born, is_patient, frozenset(sets))


def team(*rows, **kw):
    return [Alternative(name="it", people=tuple(People(set=s, count=n) for s, n in rows), **kw)]


@pytest.mark.parametrize(
    ("source", "rows", "people", "is_met"),
    [
        ("ATS 2016 rec. 3b, facts T19: two", [("full", 2)], [person("a", "full"), person("b", "full")], True),
        ("ATS 2016 rec. 3b, facts T19: one is not two", [("full", 2)], [person("a", "full")], False),
        ("a person is counted once", [("full", 1), ("day", 1)], [person("a", "full", "day")], False),
        ("matched so that it is met if it can be", [("full", 1), ("day", 1)], [person("a", "full", "day"), person("b", "full")], True),
        ("matched, whatever the order", [("day", 1), ("full", 1)], [person("b", "full"), person("a", "full", "day")], True),
        ("scenario 36: the daytime set is no full one", [("full", 2)], [person("a", "full"), person("b", "day")], False),
        ("scenario 38: not the patient alone", [("full", 1)], [person("a", "full", is_patient=True)], False),
        ("somebody else may stand in for the patient", [("full", 1)], [person("a", "full", is_patient=True), person("b", "full")], True),
        ("the patient may be one of two", [("full", 2)], [person("a", "full", is_patient=True), person("b", "full")], True),
    ],
)  # fmt: skip
def test_the_team(source, rows, people, is_met):
    assert (first_met(team(*rows), people, DAY) is not None) is is_met, source


def test_the_patient_alone_where_the_alternative_says_so():
    assert first_met(team(("full", 1), patient_alone=True), [person("a", "full", is_patient=True)], DAY) is not None


@pytest.mark.parametrize(
    ("born", "age", "is_enough"),
    [
        (date(2007, 3, 1), 18, True),
        (date(2007, 3, 2), 18, False),
        (None, 18, False),
        (None, None, True),
        (date(2008, 2, 29), 17, True),
    ],
)
def test_age_by_the_day(born, age, is_enough):
    assert is_old_enough(born, age, DAY) is is_enough


@pytest.mark.parametrize(
    ("sentence", "skills", "signed_off", "required", "holds"),
    [
        ("every required skill is signed off", ["a", "b"], {"a", "b"}, {"a", "b"}, True),
        ("what is not required is not asked", ["a", "b"], {"a"}, {"a"}, True),
        ("one is missing", ["a", "b"], {"a"}, {"a", "b"}, False),
        ("nothing required: held by nobody", ["a", "b"], {"a", "b"}, set(), False),
    ],
)
def test_a_set(sentence, skills, signed_off, required, holds):
    def standing(code):
        if code not in required:
            return Standing.NOT_REQUIRED
        return Standing.SIGNED_OFF if code in signed_off else Standing.IN_TRAINING

    lines = {code: Line([(DAY, standing(code))]) for code in skills}
    points = list(held_points({"set": skills}, lines, DAY, date.max))

    assert points == [(DAY, frozenset({"set"} if holds else ()))], sentence


# The verdict ----------------------------------------------------------------------------------------------

RULES = {
    "in_force_from": FIRST,
    "recorded_at": EARLY,
    "sets": {"full": ["s"]},
    "team": [{"name": "one", "people": [{"set": "full", "count": 1}]}],
    "items": [{"code": "kit", "valid_for": "P30D"}],
}
KIT = {"id": "i", "item": "kit", "on": "2025-01-10", "recorded_at": "2025-01-10T08:00:00Z"}


def family(*records, rules=RULES, skills=None, **changes):
    programme = {
        "code": "p",
        "skills": skills or [skill("s", edition(standard=standard(valid_for="P1Y")))],
        "rules": [rules],
    }
    return history(*records, programme=programme, **changes)


def verdicts(found):
    return [(s.value.value, s.start.isoformat()) for s in found.readiness.line]


def codes(found, day):
    return [m.code for m in found.readiness.missing(date.fromisoformat(day))]


def test_ready_while_the_team_is_there_and_the_kit_is_in_date():
    assert verdicts(family(shown("2025-01-05"), items=[KIT])) == [
        ("not_ready", "2025-01-01"),
        ("ready", "2025-01-10"),
        ("not_ready", "2025-02-10"),
    ]


@pytest.mark.parametrize(("day", "missing"), [("2025-02-09", []), ("2025-02-10", ["item:kit"])])
def test_scenario_47_an_item_out_of_date_keeps_a_trained_family(day, missing):
    assert codes(family(shown("2025-01-05"), items=[KIT]), day) == missing


def test_an_exception_names_what_it_covers_and_has_a_last_day():
    exception = {
        "id": "x",
        "missing": "item:kit",
        "from": "2025-02-12",
        "through": "2025-02-14",
        "by": "s1",
        "reason": "r",
        "recorded_at": "2025-02-12T08:00:00Z",
    }

    assert verdicts(family(shown("2025-01-05"), items=[KIT], exceptions=[exception]))[2:] == [
        ("not_ready", "2025-02-10"),
        ("ready_by_exception", "2025-02-12"),
        ("not_ready", "2025-02-15"),
    ]


def test_a_fact_that_is_asked_about_and_not_stated_is_missing():
    skills = [skill("s", edition(steps=[{"code": "a", "critical": True, "applies_when": {"oxygen": [True]}}]))]

    assert codes(family(shown("2025-01-05"), skills=skills, items=[KIT]), "2025-01-12") == ["fact:oxygen"]


def test_before_the_first_care_plan_there_is_no_verdict():
    found = family()

    assert found.readiness.verdict(date(2024, 12, 31)) is None


def test_scenario_34_who_has_left_is_not_counted():
    people = [
        {"id": "ana", "born": "1990-05-01", "through": "2025-01-20", "sets": [], "records": [shown("2025-01-05")]}
    ]

    assert verdicts(family(items=[KIT], caregivers=people))[2] == ("not_ready", "2025-01-21")


def test_without_rules_the_team_is_missing():
    assert codes(history(shown("2025-01-05")), "2025-01-10") == ["team"]
