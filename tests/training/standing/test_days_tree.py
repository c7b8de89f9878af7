"""The tree of days: whichever day is asked for, the node of the span that contains it is among the day's."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.standing.days_tree import LEVELS, fork, nodes_of


@given(st.lists(st.dates(), min_size=3, max_size=3).map(sorted))
def test_a_span_is_found_from_every_day_in_it(days):
    first, day, last = days

    assert fork(first, last) in nodes_of(day)


@given(st.lists(st.dates(), min_size=2, max_size=2).map(sorted))
def test_a_span_is_kept_under_one_of_its_own_days(days):
    first, last = days

    assert first.toordinal() <= fork(first, last) <= last.toordinal()


@given(st.dates())
def test_a_day_has_few_nodes(day):
    assert len(nodes_of(day)) <= LEVELS == 22


@pytest.mark.parametrize("day", [date.min, date(2026, 5, 14), date.max])
def test_a_day_alone_is_its_own_node(day):
    assert fork(day, day) == day.toordinal()


def test_all_days_there_are_have_one_node():
    assert fork(date.min, date.max) == 2**21
