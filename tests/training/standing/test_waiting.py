"""After an upgrade: which families wait to be worked out, who says so, and what `migrate` does about it."""

from __future__ import annotations

import logging
from io import StringIO

import pytest
from django.core.management import call_command
from django.db import connection

from training.people.models import Family
from training.standing import waiting
from training.standing.cache import FORM
from training.standing.models import AssessedBy, BoardFamily, BoardSpan, CacheState, LapseDay


@pytest.fixture
def north(cast):
    return cast.north


def older(*families):
    """As they are after an upgrade to a version that keeps something else."""
    CacheState.objects.filter(family__in=families).update(form=FORM - 1)


def emptied(*families):
    """As they are where nothing of the board was kept before."""
    older(*families)
    for model in (BoardFamily, BoardSpan, LapseDay, AssessedBy):
        model.objects.filter(family__in=families).delete()


def migrated():
    said = StringIO()
    call_command("migrate", verbosity=0, stdout=said)
    return said.getvalue()


def test_nobody_waits_where_deeds_keep_the_spans(north):
    assert waiting.how_many(connection) == 0
    assert waiting.families_are_worked_out(databases=["default"]) == []
    assert migrated() == ""


@pytest.mark.parametrize("left", [older, emptied, lambda f: CacheState.objects.filter(family=f).delete()])
def test_a_family_that_waits_is_warned_of(north, left):
    left(north.family)
    (warning,) = waiting.families_are_worked_out(databases=["default"])

    assert (warning.id, warning.hint) == ("standing.W001", "Run `manage.py rebuild_standing`.")
    assert warning.msg.startswith("1 family is not worked out")


def test_a_starting_site_says_so(north, caplog):
    emptied(*Family.objects.all())
    with caplog.at_level(logging.WARNING, logger="training.standing"):
        waiting.warn_of_waiting(connection)

    assert [("4 families" in m, "rebuild_standing" in m) for m in caplog.messages] == [(True, True)]


def test_a_starting_site_with_all_worked_out_says_nothing(north, caplog):
    with caplog.at_level(logging.WARNING, logger="training.standing"):
        waiting.warn_of_waiting(connection)

    assert caplog.messages == []


def test_before_its_tables_are_there_nothing_waits(north, monkeypatch):
    emptied(north.family)
    monkeypatch.setattr(connection.introspection, "table_names", lambda cursor=None: [])

    assert waiting.how_many(connection) == 0


def test_migrate_works_a_few_out(north):
    emptied(north.family)

    assert migrated() == "Families worked out for this version: 1.\n"
    assert waiting.how_many(connection) == 0
    assert BoardSpan.objects.filter(family=north.family).exists()


def test_migrate_names_the_command_for_many(north, monkeypatch):
    monkeypatch.setattr(waiting, "FEW", 1)
    emptied(*Family.objects.all())

    assert "4 families are not worked out" in (said := migrated())
    assert "rebuild_standing" in said
    assert waiting.how_many(connection) == 4


def test_half_way_through_the_migrations_nothing_is_worked_out(north, monkeypatch):
    emptied(north.family)
    monkeypatch.setattr(waiting.MigrationExecutor, "migration_plan", lambda *args: ["one more"])
    waiting.work_out_waiting("default", stdout=(said := StringIO()))

    assert said.getvalue() == ""


# The board ------------------------------------------------------------------------------------------------------


@pytest.fixture
def board(north, signed_in):
    def get(query=""):
        return signed_in(north.supervisor).get("/board/" + query).content.decode()

    return get


def test_the_board_says_nothing_where_nobody_waits(board):
    assert "not worked out yet" not in board()


@pytest.mark.parametrize("left", [older, emptied])
def test_the_board_counts_who_waits(board, north, left):
    left(north.family)

    assert "1 family is not worked out yet" in board()


def test_an_empty_board_is_not_taken_for_no_families(board, north):
    emptied(*Family.objects.all())

    assert "2 families are not worked out yet" in (text := board())
    assert "No families yet" not in text


def test_a_filter_hides_nobody_who_waits(board, north):
    emptied(north.family)

    assert "1 family is not worked out yet" in board("?show=ready")
