"""The stored board on any day is what `competency` says of that day, worked out from scratch, for families at random."""

from __future__ import annotations

import random
from contextlib import suppress
from datetime import date, timedelta

import pytest

from competency.fields import RefusedError
from competency.history import FamilyHistory
from competency.readiness import Verdict
from tests.cast import TODAY, make_family
from tests.training.pages.board.test_board import make_ready
from tests.training.standing.test_paths import DEEDS, fresh
from training.people.models import Family
from training.people.reminding import is_watched
from training.standing.file import open_file
from training.standing.models import BoardSpan, LapseDay

A_YEAR = 366


def from_scratch(file, day):
    """Verdict, what is missing, who is ready, and when it falls: each day asked by itself, of a history of its own."""
    history = FamilyHistory(file.whole_case)
    readiness = history.readiness
    if not is_watched(file.family, day):
        return "", [], [], None
    verdict = readiness.verdict(day)
    people, rules = readiness.people(day), readiness.rules(day)
    ready = [[name, sum(name in p.holds for p in people)] for name in rules.sets] if rules and verdict else []
    falls = next((s.start for s in readiness.line if s.start > day and s.value is not Verdict.READY), None)
    missing = [[m.code, m.excepted] for m in readiness.missing(day)]
    return verdict or "", missing, ready, falls if verdict is Verdict.READY else None


def as_stored(family, day):
    span = BoardSpan.objects.on(day).get(family=family)
    missing = [[code, exception is not None] for code, _since, exception in span.missing]
    return span.verdict, missing, span.ready, span.falls_on


def lapses_from_scratch(file):
    found = {}
    history = file.history()
    for c in file.family.caregivers.all():
        for code in history.known.programme.skills:
            for span in history.line(c.case_id, code):
                here = c.through is None or span.start <= c.through
                if span.value == "lapsed" and here and is_watched(file.family, span.start):
                    found[span.start] = found.get(span.start, 0) + 1
    return found


def check(home, seed, days):
    rng = random.Random(f"board {seed}")
    home.families = [make_family(home, f"Random {seed}", "Ilse")]
    for _ in range(rng.randint(3, 14)):
        with suppress(RefusedError):
            rng.choice(DEEDS)(fresh(home), rng)
    family = Family.objects.get(pk=home.family.pk)
    file = open_file(family)
    for day in days(rng):
        assert as_stored(family, day) == from_scratch(file, day), (seed, day)
    assert dict(LapseDay.objects.filter(family=family).values_list("day", "number")) == lapses_from_scratch(file)


def test_what_is_missing_from_the_day_it_falls_is_said_of_that_day(cast):
    make_ready(cast.north, cast.north.family)
    span = BoardSpan.objects.on(date(2026, 5, 2)).get(family=cast.north.family)
    falling = BoardSpan.objects.on(span.falls_on).get(family=cast.north.family)

    assert span.verdict == "ready"
    assert span.falls_missing == falling.missing
    assert ["item:kit", str(span.falls_on), None] in span.falls_missing


@pytest.mark.parametrize("seed", range(4))
def test_sampled_days_are_what_the_rules_say(cast, seed):
    check(cast.north, seed, lambda rng: [TODAY + timedelta(days=rng.randint(-120, 300)) for _ in range(20)])


@pytest.mark.long
@pytest.mark.parametrize("seed", range(300))
def test_every_day_of_a_year_is_what_the_rules_say(cast, seed):
    check(cast.north, seed, lambda rng: [TODAY + timedelta(days=n - 90) for n in range(A_YEAR)])
