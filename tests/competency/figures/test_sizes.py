"""Catheters and tubes against facts.md 1.2, 1.3 and 2.3, row by row."""

from __future__ import annotations

from fractions import Fraction

import pytest

from competency.figures.catheter import By, CatheterRule, outer_mm, share_of_diameter
from competency.figures.tubes import BadTubeError, check_tube, spares

HALF = CatheterRule()
BELOW_HALF = CatheterRule(strictly_below=True)
SEVENTY = CatheterRule(per_cent=Fraction(70))
HALF_THE_AREA = CatheterRule(by=By.AREA)


@pytest.mark.parametrize(
    ("inner", "half", "seventy"),
    [
        ("3.0", None, 6),
        ("3.5", 5, 6),
        ("4.0", 6, 8),
        ("4.5", 6, 8),
        ("5.0", 6, 10),
        ("5.5", 8, 10),
        ("6.0", 8, 12),
        ("7.0", 10, 14),
        ("8.0", 12, 16),
        ("9.0", 12, 18),
        ("10.0", 14, 18),
    ],
)
def test_the_table_of_sizes(inner, half, seventy):
    """facts.md 1.3: 50 % and 70 % by diameter; T06 and T07 are rows of it."""
    assert (HALF.largest(Fraction(inner)), SEVENTY.largest(Fraction(inner))) == (half, seventy)


@pytest.mark.parametrize(
    ("source", "fr", "inner", "diameter", "area"),
    [
        ("T02, T03", 12, "8.0", 50.0, 25.0),
        ("1.3", 14, "8.0", 58.3, 34.0),
        ("1.3", 10, "6.0", 55.6, 30.9),
        ("1.3", 8, "6.0", 44.4, 19.8),
        ("T04", 8, "4.0", 66.7, 44.4),
        ("1.3", 6, "3.0", 66.7, 44.4),
        ("1.3", 6, "3.5", 57.1, 32.7),
        ("1.3", 16, "7.0", 76.2, 58.0),
    ],
)
def test_shares_of_the_lumen(source, fr, inner, diameter, area):
    share = share_of_diameter(Fraction(fr), Fraction(inner))

    assert round(float(share) * 100, 1) == diameter, source
    assert round(float(share**2) * 100, 1) == area, source


def test_french_gauge_is_three_times_the_outer_diameter():
    """facts.md 1.30, T01."""
    assert outer_mm(Fraction(12)) == 4


@pytest.mark.parametrize(("fr", "inner"), [(12, "8.0"), (6, "4.0")])
def test_strictly_below_leaves_out_what_is_just_half(fr, inner):
    """facts.md 1.3, key result c."""
    assert HALF.allows(Fraction(fr), Fraction(inner))
    assert not BELOW_HALF.allows(Fraction(fr), Fraction(inner))


@pytest.mark.parametrize("inner", ["3.0", "4.0", "5.5", "8.0"])
def test_doubling_the_size_breaks_half_by_diameter_and_keeps_half_by_area(inner):
    """facts.md 1.3, key result a."""
    doubled = 2 * Fraction(inner)

    assert not HALF.allows(doubled, Fraction(inner))
    assert HALF_THE_AREA.allows(doubled, Fraction(inner))
    assert SEVENTY.allows(doubled, Fraction(inner))


@pytest.mark.parametrize(("inner", "fits"), [("8.0", True), ("8.5", False), ("9", False), ("10", False)])
def test_less_two_times_two_fits_half_only_up_to_eight(inner, fits):
    """facts.md 1.3, key result b."""
    assert HALF.allows(2 * (Fraction(inner) - 2), Fraction(inner)) is fits


def test_half_the_area_is_seventy_per_cent_of_the_diameter():
    """facts.md 1.36, T05: the square root of a half, 70.7 %."""
    assert HALF_THE_AREA.allows(Fraction("21.21"), Fraction(10))
    assert not HALF_THE_AREA.allows(Fraction("21.22"), Fraction(10))


def test_sizes_at_hand_can_be_others():
    assert HALF.largest(Fraction(7), sizes=(6, 7, 9)) == 9


def test_spares_are_the_same_size_and_one_smaller():
    """facts.md 2.50 and 2.51, T18."""
    assert spares(Fraction(5)) == (5, Fraction("4.5"))


@pytest.mark.parametrize(
    ("inner", "outer", "why"),
    [
        (5, 5, "outer diameter is not above the inner"),
        (5, 4, "outer diameter is not above the inner"),
        (0, None, "inner diameter is not above zero"),
        (None, -1, "outer diameter is not above zero"),
    ],
)
def test_impossible_sizes_are_refused(inner, outer, why):
    with pytest.raises(BadTubeError, match=why):
        check_tube(inner and Fraction(inner) if inner != 0 else Fraction(0), outer and Fraction(outer))


@pytest.mark.parametrize(("inner", "outer"), [("5.0", "9.4"), ("6.4", "10.8"), (None, "8"), ("5", None), (None, None)])
def test_possible_sizes_are_not(inner, outer):
    """The first two are rows of facts.md 3.01."""
    check_tube(Fraction(inner) if inner else None, Fraction(outer) if outer else None)
