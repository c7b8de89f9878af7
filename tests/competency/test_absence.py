"""What if somebody is out: the case without them from a day on."""

from datetime import date

import pytest

from competency.absence import without
from competency.history import FamilyHistory
from competency.readiness import Verdict
from tests.competency.build import EARLY, FIRST, case, shown, skill

DAY = date(2025, 3, 1)
BEFORE = date(2025, 2, 28)


def rules(count):
    team = [{"name": "it", "people": [{"set": "full", "count": count}]}]
    return {"in_force_from": FIRST, "recorded_at": EARLY, "sets": {"full": ["s"]}, "team": team, "items": []}


def person(name, **changes):
    records = [shown("2025-01-10") | {"id": f"d-{name}"}]
    return {"id": name, "born": "1990-05-01", "sets": ["full"], "records": records, **changes}


def family(*people, count=1):
    return case(programme={"code": "p", "skills": [skill()], "rules": [rules(count)]}, caregivers=list(people))


def verdicts(case_, *days):
    readiness = FamilyHistory(case_).readiness
    return [readiness.verdict(day) for day in days]


@pytest.mark.parametrize(
    ("source", "people", "out", "on_the_day"),
    [
        ("nobody is out", [person("ana")], [], Verdict.READY),
        ("the only one is out", [person("ana")], ["ana"], Verdict.NOT_READY),
        ("another one is there", [person("ana"), person("ben")], ["ana"], Verdict.READY),
        ("both are out", [person("ana"), person("ben")], ["ana", "ben"], Verdict.NOT_READY),
        ("somebody the case does not know", [person("ana")], ["zoe"], Verdict.READY),
    ],
)
def test_who_is_out_does_not_count_from_the_day_on(source, people, out, on_the_day):
    assert verdicts(without(family(*people), out, DAY), BEFORE, DAY) == [Verdict.READY, on_the_day], source


def test_two_are_asked_for_and_one_of_them_is_out():
    both = family(person("ana"), person("ben"), count=2)

    assert verdicts(without(both, ["ben"], DAY), BEFORE, DAY) == [Verdict.READY, Verdict.NOT_READY]


@pytest.mark.parametrize(
    ("source", "stay", "through"),
    [
        ("no last day of their own", {}, BEFORE),
        ("a later one", {"through": "2025-04-01"}, BEFORE),
        ("an earlier one stays", {"through": "2025-02-01"}, date(2025, 2, 1)),
        ("came the day before", {"from": "2025-02-28"}, BEFORE),
    ],
)
def test_the_last_day_is_the_day_before(source, stay, through):
    assert without(family(person("ana", **stay)), ["ana"], DAY).caregivers[0].through == through, source


@pytest.mark.parametrize("first", ["2025-03-01", "2025-03-02"])
def test_who_comes_on_the_day_or_later_is_not_in_it(first):
    found = without(family(person("ana", **{"from": first}), person("ben")), ["ana"], DAY)

    assert [c.id for c in found.caregivers] == ["ben"]


def test_on_the_first_day_there_is_they_are_not_in_it():
    assert without(family(person("ana")), ["ana"], date.min).caregivers == ()


def test_their_records_stay_readable():
    found = FamilyHistory(without(family(person("ana")), ["ana"], DAY))

    assert found.line("ana", "s").on(DAY) == "signed_off"
