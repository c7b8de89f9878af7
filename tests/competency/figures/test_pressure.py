"""Pressures against facts.md 1.3 and 2.1, and against pint, an independent library of units."""

from __future__ import annotations

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from competency.figures.pressure import PASCAL, BadPressureError, Pressure, round_half_up

UNITS = pint.UnitRegistry()
PINT = {"cmH2O": UNITS.cmH2O, "mmHg": UNITS.mmHg, "kPa": UNITS.kPa}


@pytest.mark.parametrize(
    ("source", "given", "unit", "shown"),
    [
        ("T14: 25 mmHg", "25 mmHg", "cmH2O", "33.99"),
        ("2.1", "15 mmHg", "cmH2O", "20.39"),
        ("2.1", "18 mmHg", "cmH2O", "24.47"),
        ("2.1", "20 mmHg", "cmH2O", "27.19"),
        ("2.1", "22 mmHg", "cmH2O", "29.91"),
        ("2.1", "30 mmHg", "cmH2O", "40.79"),
        ("T15: 25 cmH2O", "25 cmH2O", "mmHg", "18.39"),
        ("2.1", "20 cmH2O", "mmHg", "14.71"),
        ("2.1", "30 cmH2O", "mmHg", "22.07"),
        ("2.1", "34 cmH2O", "mmHg", "25.01"),
        ("T16: 150 mmHg", "150 mmHg", "kPa", "20"),
        ("1.3", "60 mmHg", "kPa", "8"),
        ("1.3", "80 mmHg", "kPa", "10.67"),
        ("1.3", "100 mmHg", "kPa", "13.33"),
        ("1.3", "200 mmHg", "kPa", "26.66"),
        ("1.3: 1 kPa = 7.50062 mmHg", "13 kPa", "mmHg", "97.51"),
    ],
)
def test_published_conversions(source, given, unit, shown):
    assert round_half_up(Pressure.parse(given).to(unit).value, 2) == shown, source


@given(st.integers(0, 4000), st.sampled_from(sorted(PASCAL)), st.sampled_from(sorted(PASCAL)))
def test_conversions_agree_with_an_independent_library(tenths, source, target):
    ours = Pressure(Fraction(tenths, 10), source).to(target).value
    theirs = (tenths / 10 * PINT[source]).to(PINT[target]).magnitude

    assert float(ours) == pytest.approx(theirs, rel=1e-4)


@given(st.integers(0, 4000), st.sampled_from(sorted(PASCAL)), st.sampled_from(sorted(PASCAL)))
def test_there_and_back_is_where_it_was(tenths, source, target):
    here = Pressure(Fraction(tenths, 10), source)

    assert here.to(target).to(source) == here


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("25 cmH2O", "25", "cmH2O"),
        ("25cmh2o", "25", "cmH2O"),
        (" 18,5 mmHg ", "18.5", "mmHg"),
        ("2.45 kPa", "2.45", "kPa"),
        ("0 kPa", "0", "kPa"),
    ],
)
def test_a_pressure_is_read_with_its_unit(text, value, unit):
    assert Pressure.parse(text) == Pressure(Fraction(value), unit)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("25", "has no unit"),
        ("25.5", "has no unit"),
        ("25 bar", '"bar" is no unit known here'),
        ("25 mm", '"mm" is no unit known here'),
        ("", "is no pressure"),
        ("-5 kPa", "is no pressure"),
        ("about 25 cmH2O", "is no pressure"),
        ("1,000.5 kPa", "is no pressure"),
        ("٢٥ cmH2O", "is no pressure"),
        ("25000 cmH2O", "is no pressure"),
    ],
)
def test_what_is_no_pressure_is_refused(text, why):
    with pytest.raises(BadPressureError, match=why):
        Pressure.parse(text)


def test_no_unit_is_guessed():
    with pytest.raises(BadPressureError, match='"psi" is no unit known here'):
        Pressure.parse("25 kPa").to("psi")


@pytest.mark.parametrize(
    ("value", "digits", "shown"),
    [
        ("33.99", 1, "34"),
        ("24.47", 1, "24.5"),
        ("2.25", 1, "2.3"),
        ("-2.25", 1, "-2.3"),
        ("10", 0, "10"),
        ("0.04", 1, "0"),
    ],
)
def test_rounding_is_for_reading(value, digits, shown):
    assert round_half_up(Fraction(value), digits) == shown


def test_it_is_written_with_its_unit():
    assert str(Pressure.parse("25 mmHg").to("cmH2O")) == "34 cmH2O"
