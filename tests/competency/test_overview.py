"""A family at a glance: each day's values are those the rules give for that day, and edges lie where they change."""

from __future__ import annotations

import random
from datetime import timedelta
from itertools import pairwise

import pytest

from competency.answer import team_gap
from competency.course import Phase
from competency.history import FamilyHistory
from competency.overview import glances
from competency.reading import read_case
from competency.reasons import reasons
from tests.naive.histories import make_case

ONE_DAY = timedelta(days=1)


def is_changed(history, day):
    """As the reasons of that day say it, asked of what had happened by its end alone."""
    for id_, caregiver in history.caregivers.items():
        sweep = history.at_end_of(day, id_)
        for code, course in sweep.courses.items():
            asked = [r for r in reasons(history, day, sweep, code) if r.code in ("recheck", "recheck_due")]
            by_fact = any(r.about["cause"] == "fact" for r in asked)
            if by_fact and course.phase is Phase.CURRENT and course.required and caregiver.is_here(day):
                return True
    return False


def from_scratch(history, day):
    readiness = history.readiness
    if readiness.verdict(day) is None:
        return None
    people, met = readiness.people(day), readiness.team_met_by(day)
    rules = readiness.rules(day)
    gap = team_gap(history, day)
    places = sum(row.count for row in met.people) if met else gap["places"]
    ready = tuple((name, sum(name in p.holds for p in people)) for name in (rules.sets if rules else ()))
    team = (met.name if met else gap["nearest"] or "", places, places if met else gap["filled"])
    return readiness.verdict(day), tuple(readiness.missing(day)), *team, ready, is_changed(history, day)


def at_a_glance(line, day):
    found = line.on(day)
    if found is None:
        return None
    return found.verdict, found.missing, found.way, found.places, found.filled, found.ready, found.changed


@pytest.mark.parametrize("seed", range(25))
def test_every_day_is_what_the_rules_say_of_it(seed):
    case = read_case(make_case(random.Random(f"glance {seed}"), "small"))
    history = FamilyHistory(case)
    line = glances(history)
    first = history.plan.first_day or case.on
    for day in (first + timedelta(days=n) for n in range(0, 400, 3)):
        assert at_a_glance(line, day) == from_scratch(history, day), day


@pytest.mark.parametrize("seed", range(25))
def test_nothing_is_said_twice(seed):
    values = [span.value for span in glances(FamilyHistory(read_case(make_case(random.Random(seed), "small"))))]

    assert all(one != other for one, other in pairwise(values))


def test_without_a_care_plan_there_is_nothing():
    data = make_case(random.Random(1), "tiny")
    case = read_case({**data, "care_plan": [], "caregivers": [], "voids": []})

    assert list(glances(FamilyHistory(case))) == []
