"""From when a withdrawn skill is signed off again: the spans are a day's end; every boundary and the day after it."""

from __future__ import annotations

from datetime import date

import pytest

from competency.standing import Span, Standing, regained_on


def may(day):
    return date(2026, 5, day)


def spans(*points):
    """(day, standing) from that day on, the last one open."""
    ends = [may(day - 1) for day, _value in points[1:]]
    return [Span(Standing(v), may(d), end) for (d, v), end in zip(points, [*ends, None], strict=True)]


BACK = spans((1, "signed_off"), (5, "withdrawn"), (9, "signed_off"), (20, "lapsed"))
HELD = spans((1, "signed_off"), (5, "withdrawn"), (9, "held"))


@pytest.mark.parametrize(
    ("source", "line", "withdrawn", "day", "since"),
    [
        ("over once signed off again", BACK, 5, 8, None),
        ("over once signed off again", BACK, 5, 9, 9),
        ("stays over when it lapses", BACK, 5, 20, 9),
        ("a sign-off that ended the day before is not again", spans((1, "signed_off"), (5, "withdrawn")), 5, 9, None),
        ("regained on its own day", spans((1, "signed_off"), (12, "lapsed")), 5, 5, 5),
        ("what is held has its sign-off", HELD, 5, 8, None),
        ("what is held has its sign-off", HELD, 5, 9, 9),
        ("withdrawn anew", spans((1, "withdrawn"), (3, "signed_off"), (5, "withdrawn")), 5, 9, None),
        ("withdrawn anew: the first is over", spans((1, "withdrawn"), (3, "signed_off"), (5, "withdrawn")), 1, 9, 3),
        ("awaiting is not signed off", spans((5, "withdrawn"), (9, "awaiting")), 5, 9, None),
        ("in training is not signed off", spans((5, "withdrawn"), (9, "in_training")), 5, 9, None),
        ("not required says nothing", spans((5, "withdrawn"), (9, "not_required")), 5, 9, None),
        ("no care plan", [], 5, 9, None),
    ],
)  # fmt: skip
def test_from_when_it_is_signed_off_again(source, line, withdrawn, day, since):
    assert regained_on(line, may(withdrawn), may(day)) == (may(since) if since else None), source
