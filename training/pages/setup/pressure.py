"""A pressure typed with its unit: a bare number is refused, another unit is converted."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from competency.figures.pressure import PASCAL, BadPressureError, Pressure, round_half_up


def is_pressure(unit: str | None) -> bool:
    return unit in PASCAL


class PressureField(forms.CharField):
    """Cleans to a number in ``unit``, to two decimals; None where it is left out."""

    def __init__(self, *, unit: str, low: Any, high: Any, **kwargs: Any) -> None:
        self.unit, self.low, self.high = unit, low, high
        super().__init__(max_length=30, widget=forms.TextInput(attrs={"autocomplete": "off"}), **kwargs)

    def prepare_value(self, value: Any) -> Any:
        """A stated number is shown with its unit."""
        return f"{value} {self.unit}" if value and str(value)[-1].isdigit() and not isinstance(value, bool) else value

    def clean(self, value: Any) -> Decimal | None:
        typed = super().clean(value)
        return self.inside(self.read(typed)) if typed else None

    def read(self, typed: str) -> Decimal:
        try:
            return Decimal(round_half_up(Pressure.parse(typed).to(self.unit).value, 2))
        except BadPressureError:
            words = _("Write the number and its unit: cmH2O, mmHg or kPa, such as 25 cmH2O.")
            raise forms.ValidationError(words) from None

    def inside(self, found: Decimal) -> Decimal:
        """The number, where it is no slip of the keyboard."""
        said = {"low": self.low, "high": self.high, "unit": self.unit, "found": found}
        if self.low is not None and found < self.low:
            raise forms.ValidationError(_("That is %(found)s %(unit)s; %(low)s or more can be entered.") % said)
        if self.high is not None and found > self.high:
            raise forms.ValidationError(_("That is %(found)s %(unit)s; %(high)s or less can be entered.") % said)
        return found
