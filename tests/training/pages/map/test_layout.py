"""Where skills stand on the map."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from training.pages.map.layout import direct, places

CHAIN = {"hands": [], "suction": ["hands"], "tube": ["suction", "hands"], "night": ["tube"]}


@st.composite
def programmes(draw):
    codes = [f"s{n}" for n in range(draw(st.integers(0, 14)))]
    return {code: draw(st.lists(st.sampled_from(codes[:n]), unique=True)) if n else [] for n, code in enumerate(codes)}


def test_each_skill_stands_right_of_what_comes_first():
    assert [places(CHAIN)[code].column for code in CHAIN] == [0, 1, 2, 3]


@given(programmes())
def test_every_skill_stands_right_of_all_its_gates(gates):
    found = places(gates)

    assert all(found[code].column > found[gate].column for code, before in gates.items() for gate in before)


@given(programmes())
def test_every_skill_has_a_place_of_its_own(gates):
    found = places(gates)

    assert sorted(found) == sorted(gates)
    assert len({(p.column, p.row) for p in found.values()}) == len(gates)


@given(programmes())
def test_the_same_gates_give_the_same_picture(gates):
    assert places(gates) == places({code: list(before) for code, before in gates.items()})


def test_a_skill_without_any_gate_stands_below_those_that_open_something():
    found = places({"alone": [], "hands": [], "suction": ["hands"]})

    assert (found["hands"].row, found["alone"].row) == (0, 1)


def test_straight_lines_do_not_cross():
    found = places({"a": [], "b": [], "over_b": ["b"], "over_a": ["a"]})

    assert (found["over_a"].row, found["over_b"].row) == (found["a"].row, found["b"].row)


def test_an_empty_programme_has_no_places():
    assert places({}) == {}


def test_a_gate_behind_another_is_not_drawn_again():
    assert direct(CHAIN) == {"hands": [], "suction": ["hands"], "tube": ["suction"], "night": ["tube"]}


@pytest.mark.parametrize("code", ["a", "b"])
def test_gates_side_by_side_are_both_drawn(code):
    assert code in direct({"a": [], "b": [], "c": ["a", "b"]})["c"]


@given(programmes())
def test_what_is_drawn_leads_to_every_gate(gates):
    """Following the drawn lines back from a skill reaches exactly what all its gates reach."""

    def reach(code, lines):
        return {code}.union(*(reach(gate, lines) for gate in lines[code])) if lines[code] else {code}

    drawn = direct(gates)
    assert all(reach(code, drawn) == reach(code, gates) for code in gates)
