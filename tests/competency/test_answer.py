"""The answer of section 5, value by value; the nearest team and who lacks what for it (design 4.7)."""

from __future__ import annotations

import io
import json
import sys
from datetime import UTC, date, datetime

import pytest

from competency.__main__ import main
from competency.answer import answer, instant_text, team_gap
from competency.history import FamilyHistory
from competency.reading import read_case
from competency.schema import case_schema
from tests.competency.build import EARLY, FIRST, data, edition, history, other, plan, shown, skill, standard
from tests.competency.test_schema import EXAMPLE

ONE = {"days": 1, "observers": 1, "observers_have": 0, "places": 1, "places_have": 0, "days_have": 0, "within": False}
SUCTION = {
    "skill": "suction",
    "standing": "in_training",
    "since": "2025-02-03",
    "through": None,
    "last_day": None,
    "may_practise": True,
    "asked": True,
    "because": [
        {"code": "needs", "met": False, "have": 1, "of": 2, **ONE, "days": 2, "days_have": 1, "observers_have": 1, "places_have": 1,
         "setting": ["patient"], "role": [], "mode": [], "place": [], "last_on": "2025-02-03"},
        {"code": "authorisation", "met": True},
        {"code": "passed", "met": True, "record": "d1", "on": "2025-02-03"},
    ],
    "spans": [
        {"standing": "not_started", "from": "2025-02-01", "through": "2025-02-02"},
        {"standing": "in_training", "from": "2025-02-03", "through": None},
    ],
}  # fmt: skip
TUBE = {
    "skill": "tube",
    "standing": "not_started",
    "since": "2025-02-01",
    "through": None,
    "last_day": None,
    "may_practise": False,
    "asked": True,
    "because": [
        {"code": "needs", "met": False, "have": 0, "of": 1, **ONE, "setting": ["patient"], "role": ["lead"], "mode": [], "place": [], "last_on": None},
        {"code": "gate", "met": False, "skill": "suction", "too_long_ago": False},
    ],
    "spans": [{"standing": "not_started", "from": "2025-02-01", "through": None}],
}  # fmt: skip
TWO_FULL = {
    "nearest": "two full",
    "places": 2,
    "filled": 0,
    "who": [{"caregiver": "ana", "set": "full", "skills": ["suction", "tube"], "age": False}],
}
ANSWER = {
    "on": "2025-03-01",
    "known_at": None,
    "caregivers": [{"id": "ana", "sets": {"full": False}, "skills": [SUCTION, TUBE]}],
    "team": {"met": False, "by": None},
    "readiness": {
        "verdict": "ready_by_exception",
        "since": "2025-03-01",
        "through": "2025-03-14",
        "missing": [{"code": "team", "excepted": True, **TWO_FULL}],
        "spans": [
            {"verdict": "not_ready", "from": "2025-02-01", "through": "2025-02-28"},
            {"verdict": "ready_by_exception", "from": "2025-03-01", "through": "2025-03-14"},
            {"verdict": "not_ready", "from": "2025-03-15", "through": None},
        ],
    },
}


def test_the_example_of_section_5_is_answered():
    assert answer(read_case(EXAMPLE)) == ANSWER


def test_the_day_after_the_exception():
    found = answer(read_case(EXAMPLE | {"on": "2025-03-15"}))["readiness"]

    assert (found["verdict"], found["since"], found["through"]) == ("not_ready", "2025-03-15", None)
    assert found["missing"] == [{"code": "team", "excepted": False, **TWO_FULL}]


def test_the_day_after_the_kit_was_in_date():
    found = answer(read_case(EXAMPLE | {"on": "2025-04-01"}))["readiness"]

    assert found["missing"][1:] == [{"code": "item:kit", "excepted": False}]


def test_before_the_care_plan_there_is_no_standing_and_no_verdict():
    found = answer(read_case(EXAMPLE | {"on": "2025-01-31"}))
    suction = found["caregivers"][0]["skills"][0]

    assert {key: suction[key] for key in ("standing", "since", "through", "last_day", "may_practise")} == {
        "standing": None,
        "since": None,
        "through": None,
        "last_day": None,
        "may_practise": False,
    }
    assert suction["because"] == [{"code": "no_care_plan", "met": False}]
    assert {key: found["readiness"][key] for key in ("verdict", "since", "through", "missing")} == {
        "verdict": None,
        "since": None,
        "through": None,
        "missing": [],
    }


def test_as_known_before_the_attempt():
    found = answer(read_case(EXAMPLE | {"known_at": "2025-02-03T11:20:00.5+01:00"}))

    assert found["known_at"] == "2025-02-03T10:20:00.500000Z"
    assert answer(read_case(EXAMPLE | {"known_at": "2025-02-03T10:19:59Z"}))["caregivers"][0]["skills"][0]["spans"] == [
        {"standing": "not_started", "from": "2025-02-01", "through": None}
    ]


def test_an_instant_in_utc_ends_in_z():
    assert instant_text(datetime(2025, 1, 2, 3, 4, 5, tzinfo=UTC)) == "2025-01-02T03:04:05Z"


def test_a_team_that_is_met_is_named():
    rules = {"in_force_from": FIRST, "recorded_at": EARLY, "sets": {"full": ["s"]}, "team": [team("one", ("full", 1))]}
    case = read_case(data(shown("2025-01-10"), programme={"code": "p", "skills": [skill()], "rules": [rules]}))

    assert (answer(case)["team"], answer(case)["caregivers"][0]["sets"]) == ({"met": True, "by": "one"}, {"full": True})


def test_a_last_day_and_both_bounds_of_a_span():
    skills = [skill("s", edition(standard=standard(valid_for="P3M")))]
    found = answer(read_case(data(shown("2025-01-10"), skills=skills)))["caregivers"][0]["skills"][0]

    assert [found[key] for key in ("standing", "since", "through", "last_day", "asked")] == [
        "signed_off",
        "2025-01-10",
        "2025-04-10",
        "2025-04-10",
        False,
    ]


def test_the_last_day_is_that_of_the_day_asked_about():
    """A renewal to come moves nothing yet."""
    skills = [skill("s", edition(standard=standard(valid_for="P3M")))]
    found = answer(read_case(data(shown("2025-01-10"), shown("2025-03-02"), skills=skills)))["caregivers"][0]["skills"][
        0
    ]

    assert found["last_day"] == "2025-04-10"


# The nearest team -----------------------------------------------------------------------------------------

AIR = [skill("s"), skill("t"), skill("u", edition(applies_when={"cuff": ["air"]}))]
SETS = {"full": ["s", "t"], "day": ["s"], "cuffed": ["u"]}
DAY = date(2025, 3, 1)


def team(name, *rows, **more):
    return {"name": name, "people": [{"set": s, "count": n} | more for s, n in rows]}


def person(name, *done, born="1990-05-01", **more):
    records = [shown("2025-01-10", code=code, id=f"{name}-{code}") for code in done]
    return {"id": name, "born": born, "sets": [], "records": records} | more


def gap(teams, *people, skills=None, **changes):
    rules = {"in_force_from": FIRST, "recorded_at": EARLY, "sets": SETS, "team": teams}
    programme = {"code": "p", "skills": skills or AIR, "rules": [rules]}
    return team_gap(history(programme=programme, caregivers=list(people), **changes), DAY)


def lacks(name, set_, *skills, age=False):
    return {"caregiver": name, "set": set_, "skills": list(skills), "age": age}


@pytest.mark.parametrize(
    ("sentence", "teams", "people", "found"),
    [
        ("nobody has shown anything", [team("two", ("full", 2))], [person("a")], ("two", 2, 0, [lacks("a", "full", "s", "t")])),
        ("who is counted lacks nothing", [team("two", ("full", 2))], [person("a", "s", "t"), person("b", "s")], ("two", 2, 1, [lacks("b", "full", "t")])),
        ("the fewest places left open", [team("two", ("full", 2)), team("one", ("full", 1))], [person("a")], ("one", 1, 0, [lacks("a", "full", "s", "t")])),
        ("the first of several", [team("x", ("full", 1)), team("y", ("day", 1))], [person("a")], ("x", 1, 0, [lacks("a", "full", "s", "t")])),
        ("the one that is nearer by what was shown", [team("x", ("full", 2)), team("y", ("day", 2))], [person("a", "s")], ("y", 2, 1, [])),
        ("a set in which nothing is required is no way", [team("x", ("cuffed", 1)), team("y", ("full", 2))], [person("a")], ("y", 2, 0, [lacks("a", "full", "s", "t")])),
        ("unless there is no other", [team("x", ("cuffed", 1))], [person("a")], ("x", 1, 0, [lacks("a", "cuffed")])),
        ("every row of all", [team("x", ("full", 1), ("day", 1))], [person("a")], ("x", 2, 0, [lacks("a", "full", "s", "t"), lacks("a", "day", "s")])),
        ("too young for it", [team("x", ("day", 1), minimum_age=18)], [person("a", "s", born="2007-03-02")], ("x", 1, 0, [lacks("a", "day", age=True)])),
        ("no birth date", [team("x", ("day", 1), minimum_age=18)], [person("a", "s", born=None)], ("x", 1, 0, [lacks("a", "day", age=True)])),
        ("who has left is not spoken of", [team("x", ("day", 1))], [person("a", "s", through="2025-02-28")], ("x", 1, 0, [])),
        ("the patient is not enough alone", [team("x", ("day", 1))], [person("a", "s", is_patient=True)], ("x", 1, 0, [])),
        ("no alternative", [], [person("a")], (None, 0, 0, [])),
    ],
)  # fmt: skip
def test_the_nearest_team_and_who_lacks_what(sentence, teams, people, found):
    nearest, places, filled, who = found

    assert gap(teams, *people) == {"nearest": nearest, "places": places, "filled": filled, "who": who}, sentence


def test_without_rules_there_is_no_team_to_be_near():
    assert team_gap(history(), DAY) == {"nearest": None, "places": 0, "filled": 0, "who": []}


def test_what_is_held_is_lacking():
    people = [person("a", "s") | {"records": [*person("a", "s")["records"], other("hold", "2025-02-01", through=None)]}]

    assert gap([team("x", ("day", 1))], *people)["who"] == [lacks("a", "day", "s")]


# The door, in this process --------------------------------------------------------------------------------


@pytest.fixture
def ask(monkeypatch, capsys):
    def asked(text, *words):
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        monkeypatch.setenv("COLUMNS", "100")
        try:
            status = main(words)
        except SystemExit as stop:
            status = stop.code
        return status, *capsys.readouterr()

    return asked


def test_the_answer_is_printed(ask):
    assert ask(json.dumps(EXAMPLE)) == (0, json.dumps(answer(read_case(EXAMPLE)), indent=1) + "\n", "")


def test_the_schema_is_printed_and_nothing_is_read(ask):
    assert ask("no case at all", "--schema") == (0, json.dumps(case_schema(), ensure_ascii=False, indent=1) + "\n", "")


def test_foreign_letters_are_printed_as_they_are(ask):
    said = ask(json.dumps(data(caregivers=[person("zoë")])))[1]

    assert ('"zoë"' in said, "\\u" in said) == (True, False)


def test_a_case_that_is_refused_is_answered_on_standard_error(ask):
    assert ask(json.dumps(data(on="soon", known_at="x"))) == (
        2,
        "",
        'on: is "soon", not a date such as 2025-02-03\n'
        'known_at: is "x", not an instant with an offset such as 2025-02-03T10:20:00Z\n',
    )


def test_the_help_says_what_may_be_asked(ask):
    status, said, err = ask("", "--help")

    assert (status, " ".join(said.split()), err) == (
        0,
        "usage: python -m competency [-h] [--explain CAREGIVER SKILL | --schema] Answer the case on standard input. "
        "options: -h, --help show this help message and exit --explain CAREGIVER SKILL tell one skill through time "
        "--schema print the JSON Schema of a case",
        "",
    )


def test_the_schema_is_a_draft_2020_12_schema_of_a_case():
    schema = case_schema()

    assert (schema["$schema"], set(schema["required"]) <= set(schema["properties"])) == (
        "https://json-schema.org/draft/2020-12/schema",
        True,
    )


def test_a_history_holds_each_caregiver_once():
    case = read_case(data(caregivers=[person("a"), person("b")], care_plan=[plan()]))

    assert list(FamilyHistory(case).caregivers) == ["a", "b"]
