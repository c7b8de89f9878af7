"""Bands: where each piece lies, and what it says."""

from __future__ import annotations

from datetime import date

import pytest

from competency.standing import Span, Standing
from training.pages.family.bands import Window, _pieces, said, window_around

DAY = date(2026, 5, 14)
WINDOW = window_around(DAY)


def test_six_months_back_and_six_ahead_in_whole_months():
    assert Window(date(2025, 11, 1), date(2026, 11, 30)) == WINDOW


@pytest.mark.parametrize("day", [date.min, date.max, date(1, 12, 31), date(9999, 1, 1)])
def test_the_calendars_ends_have_a_window(day):
    window = window_around(day)

    assert window.first <= day <= window.last


@pytest.mark.parametrize(
    ("day", "share"),
    [(date(2025, 10, 1), 0), (date(2025, 11, 1), 0), (date(2026, 11, 30), 100 * 394 / 395), (date(2027, 1, 1), 100)],
)
def test_a_day_lies_inside_the_picture(day, share):
    assert WINDOW.share(day) == pytest.approx(share)


def pieces(*spans):
    return list(_pieces([Span(*s) for s in spans], DAY, WINDOW))


def test_a_span_over_the_date_is_cut_in_two():
    cut = pieces((Standing.SIGNED_OFF, date(2026, 1, 1), date(2026, 8, 1)))

    assert [(p.ahead, p.label) for p in cut] == [(False, "signed off"), (True, "through 1 Aug 2026")]
    assert cut[0].end == cut[1].x


def test_what_has_lapsed_is_one_piece():
    assert [(p.ahead, p.label) for p in pieces((Standing.LAPSED, date(2026, 5, 1), None))] == [(False, "lapsed 1 May")]


def test_a_lapse_ahead_says_so():
    assert pieces((Standing.LAPSED, date(2026, 7, 1), None))[0].label == "lapses 1 Jul"


def test_a_word_without_room_is_left_out():
    assert pieces((Standing.IN_TRAINING, date(2026, 1, 1), date(2026, 1, 3)))[0].label == ""


def test_pieces_touch():
    both = pieces(
        (Standing.IN_TRAINING, date(2026, 1, 1), date(2026, 1, 31)), (Standing.SIGNED_OFF, date(2026, 2, 1), None)
    )

    assert both[0].end == both[1].x


def test_a_line_is_said_as_one_sentence():
    spans = [
        Span(Standing.NOT_STARTED, date(2026, 3, 2), date(2026, 5, 1)),
        Span(Standing.SIGNED_OFF, date(2026, 5, 2), None),
    ]

    assert said(spans) == "not started from 2 March 2026 through 1 May 2026; signed off from 2 May 2026"
