"""What the drafting forms are made of: periods, conditions by care plan facts, and the version they are written on."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from crispy_forms.helper import FormHelper
from django import forms
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.dates import BadPeriodError, Period
from competency.fields import Problem
from training.curriculum.sentences import period_words

UNITS = {"D": gettext_lazy("days"), "W": gettext_lazy("weeks"), "M": gettext_lazy("months"), "Y": gettext_lazy("years")}
_SIMPLE = re.compile(r"P(\d+)([DWMY])", re.ASCII)


class PeriodWidget(forms.MultiWidget):
    """A number and a unit. A mixed period, such as a year and ten days, is a choice of its own and stays as it is."""

    def __init__(self) -> None:
        number = forms.NumberInput(attrs={"min": 0, "class": "form-control", "aria-label": gettext_lazy("how many")})
        unit = forms.Select(
            choices=list(UNITS.items()), attrs={"class": "form-select", "aria-label": gettext_lazy("unit")}
        )
        super().__init__(widgets={"n": number, "unit": unit})

    def decompress(self, value: str | None) -> list[Any]:
        if not value:
            return [None, "D"]
        found = _SIMPLE.fullmatch(value)
        return [int(found[1]), found[2]] if found else [1, value]

    def get_context(self, name: str, value: Any, attrs: Any) -> dict[str, Any]:
        parts = value if isinstance(value, list) else self.decompress(value)
        mixed = [(parts[1], period_words(parts[1]))] if _is_mixed(parts[1]) else []
        self.widgets[1].choices = [*UNITS.items(), *mixed]
        return super().get_context(name, value, {key: v for key, v in (attrs or {}).items() if key != "class"})


def _is_mixed(unit: Any) -> bool:
    try:
        return bool(unit) and unit not in UNITS and Period.parse(str(unit)) is not None
    except BadPeriodError:
        return False


class PeriodField(forms.MultiValueField):
    """A period as ISO text, such as P30D; empty where no number is given. zero: whether none at all is a period too."""

    def __init__(self, *, zero: bool = False, **kwargs: Any) -> None:
        self.zero = zero
        number = forms.IntegerField(required=False, min_value=0, max_value=9999)
        super().__init__(
            fields=(number, forms.CharField(required=False)), widget=PeriodWidget(), require_all_fields=False, **kwargs
        )

    def compress(self, values: list[Any]) -> str:
        number, unit = [*values, None, None][:2]
        if number is None:
            return ""
        if _is_mixed(unit):
            return str(unit)
        if unit not in UNITS:
            raise forms.ValidationError(_("Choose days, weeks, months or years."))
        if number == 0 and not self.zero:
            raise forms.ValidationError(_("This has to be longer than nothing. Leave it empty for no limit."))
        return self._checked(f"P{number}{unit}")

    def _checked(self, text: str) -> str:
        try:
            Period.parse(text)
        except BadPeriodError:
            raise forms.ValidationError(_("This is longer than 200 years.")) from None
        return text


def number_of(typed: Decimal) -> int | float:
    return int(typed) if typed == typed.to_integral_value() else float(typed)


class DraftForm(forms.Form):
    """A form on one version of a draft. Who saves on an older one is told, with what they typed still there."""

    version = forms.IntegerField(widget=forms.HiddenInput, min_value=1)

    @property
    def helper(self) -> FormHelper:
        helper = FormHelper()
        helper.form_tag = False
        helper.disable_csrf = True
        return helper

    def refuse(self, problems: Iterable[Problem], inside: str = "") -> None:
        """Put each problem at the field that its path begins with, after ``inside``; the others above the form."""
        for problem in problems:
            path = problem.path.removeprefix(inside).lstrip(".")
            name = re.split(r"[.\[]", path)[0]
            said = problem.message[:1].upper() + problem.message[1:] + "."
            if name in self.fields:
                self.add_error(name, said)
            else:
                self.add_error(None, f"{path}: {said}" if path else said)


# Conditions by facts of the care plan ---------------------------------------------------------------------

PREFIX = "when_"


def add_conditions(form: forms.Form, facts: Mapping[str, Mapping[str, Any]], applies_when: Mapping[str, Any]) -> None:
    """A field for each fact of the programme; nothing chosen in it: the fact does not matter.

    A retired fact has a field only where a condition still names it, so that it can be taken out.
    """
    for code, fact in facts.items():
        if fact.get("retired") and not applies_when.get(code):
            continue
        form.fields[PREFIX + code] = condition_field(fact)
        form.initial.setdefault(PREFIX + code, _typed(fact, applies_when.get(code) or []))


def condition_field(fact: Mapping[str, Any]) -> forms.Field:
    if fact["kind"] == "number":
        unit = fact.get("unit")
        return forms.CharField(
            label=f"{fact['title']} ({unit})" if unit else fact["title"],
            required=False,
            max_length=200,
            help_text=_("Numbers with a space between them, such as 4 4.5 5."),
            widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
        )
    yes_no = [("yes", _("yes")), ("no", _("no"))]
    choices = yes_no if fact["kind"] == "yes_no" else [(str(k), v) for k, v in fact["choices"].items()]
    return forms.MultipleChoiceField(
        label=fact["title"], required=False, choices=choices, widget=forms.CheckboxSelectMultiple
    )


def _typed(fact: Mapping[str, Any], values: Iterable[Any]) -> Any:
    if fact["kind"] == "number":
        return " ".join(str(v) for v in values)
    return [("yes" if v else "no") if isinstance(v, bool) else str(v) for v in values]


def conditions_of(form: forms.Form, facts: Mapping[str, Mapping[str, Any]]) -> dict[str, list[Any]]:
    """What was chosen, as an edition writes it. Says at its field what is no number, or no possible one."""
    found = {code: _values(form, code, fact) for code, fact in facts.items() if PREFIX + code in form.fields}
    return {code: values for code, values in found.items() if values}


def _values(form: forms.Form, code: str, fact: Mapping[str, Any]) -> list[Any]:
    typed = form.cleaned_data.get(PREFIX + code) or []
    if fact["kind"] == "yes_no":
        return [value == "yes" for value in typed]
    if fact["kind"] != "number":
        return list(typed)
    values = []
    for word in re.split(r"[\s;]+|,\s+", typed.strip()) if typed else []:
        value = _finite(word)
        if value is None:
            form.add_error(PREFIX + code, _("“%(word)s” is no number.") % {"word": word})
            return []
        low, high = fact.get("low"), fact.get("high")
        if (low is not None and value < low) or (high is not None and value > high):
            form.add_error(PREFIX + code, _("%(value)s is outside %(low)s to %(high)s.")
                           % {"value": value, "low": low, "high": high})  # fmt: skip
        values.append(value)
    return values


def _finite(word: str) -> int | float | None:
    """A number as people write one; None for anything else, such as NaN or a power of ten."""
    return number_of(Decimal(word)) if re.fullmatch(r"-?\d{1,6}(\.\d{1,3})?", word, re.ASCII) else None


def condition_fields(form: forms.Form) -> list[forms.BoundField]:
    return [form[name] for name in form.fields if name.startswith(PREFIX)]


def long_words(
    label: Promise | str, *, required: bool = False, rows: int = 2, most: int = 500, help_text: Any = ""
) -> Any:
    return forms.CharField(
        label=label,
        required=required,
        max_length=most,
        help_text=help_text,
        widget=forms.Textarea(attrs={"rows": rows}),
    )
