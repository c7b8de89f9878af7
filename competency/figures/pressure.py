"""Pressures, which are nothing without their unit."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

PASCAL = {
    "cmH2O": Fraction("98.0665"),  # conventional: water at 1000 kg/m3 under standard gravity
    "mmHg": Fraction("133.322387415"),  # conventional millimetre of mercury
    "kPa": Fraction(1000),
}
_WRITTEN = re.compile(r"(?P<value>\d{1,4}(?:[.,]\d{1,3})?)\s*(?P<unit>[A-Za-z][A-Za-z0-9]*)?", re.ASCII)


class BadPressureError(ValueError):
    """A text that is no pressure: no number, no unit, or a unit that is not known here."""


@dataclass(frozen=True, slots=True)
class Pressure:
    """A pressure in the unit it was given in: cmH2O, mmHg or kPa."""

    value: Fraction
    unit: str

    @classmethod
    def parse(cls, text: str) -> Pressure:
        """Read "25 cmH2O". Raises BadPressureError for a bare number: 25 mmHg is 34 cmH2O, above most limits."""
        found = _WRITTEN.fullmatch(text.strip())
        if found is None:
            raise BadPressureError(f'"{text}" is no pressure, such as 25 cmH2O')
        if found["unit"] is None:
            raise BadPressureError(f'"{text}" has no unit; write cmH2O, mmHg or kPa behind it')
        unit = next((u for u in PASCAL if u.lower() == found["unit"].lower()), None)
        if unit is None:
            raise BadPressureError(f'"{found["unit"]}" is no unit known here; write cmH2O, mmHg or kPa')
        return cls(Fraction(found["value"].replace(",", ".")), unit)

    def to(self, unit: str) -> Pressure:
        """The same pressure in another unit, exactly. Raises BadPressureError for a unit not known here."""
        if unit not in PASCAL:
            raise BadPressureError(f'"{unit}" is no unit known here; write cmH2O, mmHg or kPa')
        return Pressure(self.value * PASCAL[self.unit] / PASCAL[unit], unit)

    @property
    def pascal(self) -> Fraction:
        return self.value * PASCAL[self.unit]

    def __str__(self) -> str:
        """To one decimal, without a needless one: 34 cmH2O, 24.5 cmH2O."""
        return f"{round_half_up(self.value)} {self.unit}"


def round_half_up(value: Fraction, digits: int = 1) -> str:
    """A number for reading, rounded half away from zero, without needless zeros. Comparisons use the exact value."""
    scaled = value * 10**digits
    whole = (abs(scaled) + Fraction(1, 2)).__floor__()
    shown = Decimal(whole).scaleb(-digits) * (-1 if value < 0 else 1)
    text = f"{shown:f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
