"""`manage.py rebuild_standing`: what it names, what it puts right, where it goes on; several processes at once."""

from __future__ import annotations

from datetime import date
from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.cast import TODAY, sign_off_suction
from training.standing.models import (
    AssessedBy,
    BoardFamily,
    BoardSpan,
    CachedStanding,
    CachedVerdict,
    CacheState,
    LapseDay,
)
from training.standing.rebuilding_spans import left_over, rebuild


def run(*options):
    said, seen = StringIO(), StringIO()
    try:
        call_command("rebuild_standing", *options, "--processes", "1", stdout=said, stderr=seen)
    except CommandError as error:
        return False, said.getvalue() + str(error), seen.getvalue()
    return True, said.getvalue(), seen.getvalue()


@pytest.fixture
def north(cast):
    sign_off_suction(cast.north, cast.north.mother)
    return cast.north


def test_what_deeds_have_stored_is_right(north):
    assert run("--check") == (True, "4 families worked out; all of them were right.\n", "4 of 4 families\n")


WRONG = {
    "a standing": lambda f: CachedStanding.objects.filter(family=f, standing="signed_off").update(standing="held"),
    "a verdict": lambda f: CachedVerdict.objects.filter(family=f).update(verdict="ready"),
    "a line of the board": lambda f: BoardSpan.objects.filter(family=f).update(missing=[]),
    "one day of it": lambda f: BoardSpan.objects.filter(family=f, last_day=date.max).update(first_day=TODAY),
    "a lapse": lambda f: LapseDay.objects.filter(family=f).delete(),
    "a name": lambda f: BoardFamily.objects.filter(family=f).update(names="x"),
    "a site": lambda f: BoardFamily.objects.filter(family=f).update(site="Ward 3"),
    "who assessed": lambda f: AssessedBy.objects.filter(family=f).delete(),
    "a state": lambda f: CacheState.objects.filter(family=f).update(programme_version="x"),
    "no state": lambda f: CacheState.objects.filter(family=f).delete(),
    "an older form": lambda f: CacheState.objects.filter(family=f).update(form=0),
}


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_is_named_and_left(north, what):
    WRONG[what](north.family)
    named = f"family {north.family.public_id}: the stored spans are not what the rules work out"

    for _ in range(2):
        ended_well, said, _seen = run("--check")
        assert (ended_well, named in said, "1 of 4 families differ" in said) == (False, True, True)


@pytest.mark.parametrize("what", WRONG)
def test_what_is_wrong_is_put_right(north, what):
    WRONG[what](north.family)

    assert run()[:2] == (True, "4 families worked out; 1 had to be put right.\n")
    assert run("--check")[0]


def test_a_name_stands_in_no_line(north):
    WRONG["a name"](north.family)

    assert north.family.name not in run("--check")[1]


def test_it_goes_on_where_it_stopped(north):
    first, *rest = left_over(1)
    list(rebuild([first], round_=1))

    assert left_over(1) == rest
    assert run("--resume")[1] == "3 families worked out; all of them were right.\n"
    assert run("--resume")[1] == "0 families worked out; all of them were right.\n"


def test_a_run_from_the_start_does_all(north):
    assert [run()[1][:1] for _ in range(2)] == ["4", "4"]


def test_a_deed_leaves_the_round_as_it_is(north):
    run()
    sign_off_suction(north, north.father)

    assert run("--resume")[1][:1] == "0"


@pytest.mark.parametrize("options", [("--processes", "0"), ("--check", "--resume")])
def test_what_makes_no_sense_is_refused(db, options):
    with pytest.raises(CommandError):
        call_command("rebuild_standing", *options, stdout=StringIO(), stderr=StringIO())


@pytest.mark.parametrize(("options", "is_asked"), [((), True), (("--check",), False)])
def test_postgresql_looks_at_its_tables_before_and_after(north, options, is_asked):
    with CaptureQueriesContext(connection) as asked:
        run(*options)

    steps = [query["sql"] for query in asked if "ANALYZE" in query["sql"] or 'FROM "records_record"' in query["sql"]]
    looked = [number for number, sql in enumerate(steps) if sql == "ANALYZE"]
    assert len(steps) > len(looked)
    assert looked == ([0, len(steps) - 1] if is_asked and connection.vendor == "postgresql" else [])
