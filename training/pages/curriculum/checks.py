"""The draft of the checks computed for staff beside a prescriber's order: each with its rule and its source."""

from __future__ import annotations

from functools import cached_property
from typing import Any, ClassVar

from django import forms
from django.http import Http404
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import RefusedError
from competency.figures.checks import ALL
from competency.figures.pressure import PASCAL
from training.curriculum.checks import problems_of
from training.curriculum.drafting import FACTS, code_from
from training.curriculum.words import Words
from training.pages.curriculum.fields import DraftForm, long_words, number_of
from training.pages.curriculum.parts import find_in
from training.pages.curriculum.rules import RulesFormView

FOR_STAFF = gettext_lazy("Staff see it beside the prescriber’s order, families never. The order stands.")


def _source() -> Any:
    return long_words(
        gettext_lazy("Source"),
        required=True,
        help_text=gettext_lazy("Where the rule is from. Where sources differ, say so, and which one is taken."),
    )


def _fact(label: Promise) -> forms.ChoiceField:
    return forms.ChoiceField(label=label)


class CheckForm(DraftForm):
    """units: of each field that names a fact, the units it may have."""

    units: ClassVar[dict[str, tuple[str, ...]]] = {}

    def __init__(self, *args: Any, words: Words, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for name, units in self.units.items():
            self.fields[name].choices = [("", _("Choose")), *_numbers(words, units)]

    def check(self) -> dict[str, Any]:
        """The check as a programme file writes it."""
        data = {key: value for key, value in self.cleaned_data.items() if key != "version"}
        return {key: value for key, value in data.items() if value not in ("", None, False)}


def _numbers(words: Words, units: tuple[str, ...]) -> list[tuple[str, str]]:
    """The facts that are numbers in one of these units; in any, where none is named."""
    numbers = {code: f for code, f in words.offered.items() if f["kind"] == "number"}
    return [
        (code, f"{f['title']} ({f.get('unit') or _('no unit')})")
        for code, f in numbers.items()
        if not units or f.get("unit") in units
    ]


class TubeForm(CheckForm):
    units: ClassVar = {"inner": ("mm",), "outer": ("mm",)}
    inner = _fact(gettext_lazy("The fact with the inner diameter"))
    outer = _fact(gettext_lazy("The fact with the outer diameter"))


class CatheterForm(CheckForm):
    units: ClassVar = {"tube": ("mm",), "order": ("Fr",)}
    tube = _fact(gettext_lazy("The fact with the tube’s inner diameter"))
    order = _fact(gettext_lazy("The fact with the catheter ordered"))
    by = forms.ChoiceField(
        label=gettext_lazy("A share of the tube’s"),
        choices=[("diameter", gettext_lazy("inner diameter")), ("area", gettext_lazy("area"))],
    )
    per_cent = forms.IntegerField(
        label=gettext_lazy("Per cent of it"),
        min_value=1,
        max_value=99,
        help_text=gettext_lazy("Half of the area is 70.7 % of the diameter."),
    )
    strictly_below = forms.BooleanField(
        label=gettext_lazy("Strictly below: exactly this share is too much"), required=False
    )
    source = _source()


class SparesForm(CheckForm):
    units: ClassVar = {"tube": ("mm",)}
    tube = _fact(gettext_lazy("The fact with the tube’s inner diameter"))
    step_mm = forms.DecimalField(
        label=gettext_lazy("How much smaller the smaller spare is, in mm"), max_digits=5, decimal_places=2
    )
    source = _source()

    def clean_step_mm(self) -> Any:
        step = self.cleaned_data["step_mm"]
        if step <= 0:
            raise forms.ValidationError(_("This has to be above zero."))
        return number_of(step)


class RangeForm(CheckForm):
    """An ordered number and the range it is looked for in: one for everybody, or one for each value of a fact."""

    units: ClassVar = {"order": ()}
    title = forms.CharField(label=gettext_lazy("Name, such as “Suction pressure”"), max_length=120)
    order = _fact(gettext_lazy("The fact with the number ordered"))
    unit = forms.CharField(
        label=gettext_lazy("Unit of the limits"),
        max_length=12,
        help_text=gettext_lazy("As the fact has it. Between cmH2O, mmHg and kPa it is converted."),
    )

    def __init__(self, *args: Any, groups: dict[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.groups = groups
        for code in groups:
            for side, label in (("low", _("At least")), ("high", _("At most"))):
                self.fields[f"{side}_{code}"] = forms.DecimalField(
                    label=label, required=False, max_digits=9, decimal_places=3
                )
            self.fields[f"source_{code}"] = long_words(_("Source"))

    def clean_unit(self) -> str:
        unit = str(self.cleaned_data["unit"]).strip()
        return next((known for known in PASCAL if known.lower() == unit.lower()), unit)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        for code in self.groups:
            low, high = data.get(f"low_{code}"), data.get(f"high_{code}")
            if low is not None and high is not None and low > high:
                self.add_error(f"high_{code}", _("This is below “at least”."))
            if (low is not None or high is not None) and not data.get(f"source_{code}", "").strip():
                self.add_error(f"source_{code}", _("A limit needs its source, or “common practice, no source”."))
        if not self.errors and not self.limits():
            self.add_error(None, _("Set a limit for at least one group."))
        return data

    def limits(self) -> dict[str, Any]:
        data, found = self.cleaned_data, {}
        for code in self.groups:
            sides = {side: data.get(f"{side}_{code}") for side in ("low", "high")}
            stated = {side: number_of(value) for side, value in sides.items() if value is not None}
            if stated:
                found[code] = {**stated, "source": data[f"source_{code}"].strip()}
        return found

    def check(self) -> dict[str, Any]:
        return {**{key: self.cleaned_data[key] for key in ("title", "order", "unit")}, "limits": self.limits()}

    def group_fields(self) -> list[tuple[str, list[forms.BoundField]]]:
        return [
            (title, [self[f"{name}_{code}"] for name in ("low", "high", "source")])
            for code, title in self.groups.items()
        ]

    def own_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("title", "order", "unit")]


class CheckView(RulesFormView):
    """A check of which a programme has one. key: of the file's checks."""

    part = FACTS
    lead = FOR_STAFF
    key: ClassVar[str]

    @property
    def settings(self) -> dict[str, Any]:
        return dict(self.draft.body.get("checks") or {})

    @property
    def is_new(self) -> bool:
        return self.key not in self.settings

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "words": self.words}

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), **self.settings.get(self.key, {})}

    def become(self, form: CheckForm) -> dict[str, Any]:
        return self.judged({**self.settings, self.key: form.check()}, f"checks.{self.key}")

    def judged(self, checks: dict[str, Any], at: str) -> dict[str, Any]:
        """The body with these checks. Raises RefusedError where the one at this path cannot be."""
        self.inside = at
        wrong = [p for p in problems_of(checks, self.words.offered) if p.path.startswith(at)]
        if wrong:
            raise RefusedError(wrong)
        return {**self.draft.body, "checks": checks}

    def without(self) -> dict[str, Any]:
        return {**self.draft.body, "checks": {k: v for k, v in self.settings.items() if k != self.key}}


class EditTube(CheckView):
    key = "tube"
    form_class = TubeForm
    title = gettext_lazy("The tube’s sizes")
    lead = gettext_lazy("A care plan with a tube whose outer diameter is not above its inner one is refused.")


class EditCatheter(CheckView):
    key = "catheter"
    form_class = CatheterForm
    title = gettext_lazy("The largest suction catheter")


class EditSpares(CheckView):
    key = "spares"
    form_class = SparesForm
    title = gettext_lazy("Spare tubes at hand")


class EditRange(CheckView):
    """Vacuum, seconds, cuff pressure and whatever else is looked for in a range."""

    key = "ranges"
    form_class = RangeForm
    template_name = "curriculum/range.html"
    title = gettext_lazy("A range for what is ordered")

    def find(self) -> None:
        super().find()
        _found = self.groups

    @property
    def is_new(self) -> bool:
        return "code" not in self.kwargs

    @cached_property
    def range(self) -> dict[str, Any]:
        return {} if self.is_new else find_in(self.settings.get("ranges", []), self.kwargs["code"])

    @cached_property
    def by(self) -> str:
        """The fact that chooses among the limits; empty where one range holds for everybody."""
        return str(self.range.get("by", "")) if self.range else self.request.GET.get("by", "")

    @cached_property
    def groups(self) -> dict[str, str]:
        if not self.by:
            return {ALL: _("For everybody")}
        fact = self.words.facts.get(self.by)
        if fact is None or fact["kind"] != "choice":
            raise Http404
        return {str(code): title for code, title in fact["choices"].items()}

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "groups": self.groups}

    def get_initial(self) -> dict[str, Any]:
        limits = self.range.get("limits", {})
        typed = {f"{name}_{code}": value for code, found in limits.items() for name, value in found.items()}
        initial = {
            "version": self.draft.version,
            **{k: self.range[k] for k in ("title", "order", "unit") if self.range},
        }
        return {**initial, **typed}

    def page(self, **more: Any) -> dict[str, Any]:
        return super().page(chosen_by=self.words.fact(self.by) if self.by else "", **more)

    def become(self, form: CheckForm) -> dict[str, Any]:
        ranges = list(self.settings.get("ranges", []))
        codes = [found["code"] for found in ranges]
        made = form.check()
        taken = [*codes, "tube", "catheter", "spares"]
        code = self.kwargs.get("code") or code_from(made["title"], taken)
        made = {"code": code, **made, **({"by": self.by} if self.by else {})}
        place = codes.index(code) if code in codes else len(codes)
        ranges[place : place + 1] = [made]
        return self.judged({**self.settings, "ranges": ranges}, f"checks.ranges[{place}]")

    def without(self) -> dict[str, Any]:
        ranges = [found for found in self.settings["ranges"] if found["code"] != self.kwargs["code"]]
        return {**self.draft.body, "checks": {**self.settings, "ranges": ranges}}
