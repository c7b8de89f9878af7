"""The picture: boxes apart from each other, lines that end at the right gate, titles that fit."""

from __future__ import annotations

import re
from itertools import combinations

import pytest
from hypothesis import given

from tests.training.pages.map.test_layout import programmes
from training.pages.map.drawing import HIGH, PAPER, WIDE, Node, drawing
from training.pages.map.layout import columns, threaded


def drawn(gates, **more):
    return drawing([Node(code=code, title=code, gates=tuple(before), **more) for code, before in gates.items()])


def numbers(path):
    return [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", path)]


@given(programmes())
def test_no_two_boxes_touch(gates):
    for one, other in combinations(drawn(gates).boxes, 2):
        assert one.x + WIDE < other.x or other.x + WIDE < one.x or one.y + HIGH < other.y or other.y + HIGH < one.y


@given(programmes())
def test_everything_lies_inside_the_picture(gates):
    picture = drawn(gates)

    assert all(box.x >= 0 and box.right <= picture.width for box in picture.boxes)
    assert all(box.y >= 0 and box.foot <= picture.height for box in picture.boxes)
    assert all(0 <= n <= max(picture.width, picture.height) for path, _ in picture.lines for n in numbers(path))


@given(programmes())
def test_no_line_runs_through_a_box(gates):
    """A line's level parts are outside every box but at its own ends, where it meets an edge."""
    picture = drawn(gates)
    for path, _ in picture.lines:
        for x, end, y in level_parts(path):
            for box in picture.boxes:
                assert not (box.y < y < box.foot and x < box.right and end > box.x)


def level_parts(path):
    x = y = 0.0
    for letter, rest in re.findall(r"([MHVQ])([^MHVQ]*)", path):
        found = numbers(rest)
        if letter == "M":
            x, y = found
        elif letter == "H":
            yield min(x, found[0]), max(x, found[0]), y
            x = found[0]
        elif letter == "V":
            y = found[0]
        else:
            x, y = found[2:]


def test_a_line_ends_at_its_box_when_open_and_at_the_gate_when_closed():
    hands = Node(code="hands", title="Hands", gates=(), standing="in_training")
    closed = Node(code="tube", title="Tube", gates=("hands",), standing="not_started", waits=("hands",))
    (path, is_open), *_ = drawing([hands, closed]).lines
    box = drawing([hands, closed]).boxes[1]

    assert (is_open, path.endswith(f"H{box.x - 21}")) == (False, True)
    assert not drawing([hands, closed]).gates[0].is_open


@pytest.mark.parametrize(
    ("word", "lines"),
    [
        ("", ("Cleaning a reusable", "inner cannula at", "the bedside in the…")),
        ("from 1 May", ("Cleaning a reusable", "inner cannula at t…")),
    ],
)
def test_a_long_title_has_two_or_three_lines_and_says_that_it_was_cut(word, lines):
    """Three where nothing is written below it."""
    title = "Cleaning a reusable inner cannula at the bedside in the evening"

    assert drawing([Node(code="a", title=title, gates=(), word=word)]).boxes[0].lines == lines


@pytest.mark.parametrize("waiting", ["", "closed: waits for the first"])
def test_a_long_first_column_goes_on_in_the_next(waiting):
    picture = drawn({f"s{n}": [] for n in range(40)}, waiting=waiting)

    assert picture.width / picture.height == pytest.approx(PAPER, rel=0.4)


def test_a_skill_with_many_gates_takes_their_long_lines_as_one():
    gates = {"a": [], "b": ["a"], "c": ["b"], **{f"s{n}": [] for n in range(9)}}
    gates["last"] = ["c", *(f"s{n}" for n in range(9))]

    assert {place for place in threaded(gates, columns(gates)).gates if " " in place} == {"to last 1", "to last 2"}


def test_a_gate_outside_the_picture_is_left_out():
    assert drawing([Node(code="a", title="A", gates=("elsewhere",))]).lines == ()
