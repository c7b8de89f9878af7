"""A care plan entry: every fact of the programme, what the entry would change, then the signature."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.chain import number_text
from training.curriculum.checks import CheckShown, impossible_tube, shown
from training.pages.setup.effects import Effects, effects_of
from training.pages.setup.fields import ClockField, DayField, EntryForm, clock, iso
from training.pages.setup.looking import LooksFirst
from training.pages.setup.pressure import PressureField, is_pressure
from training.people.access import Right
from training.records.models import Record
from training.standing import deeds
from training.standing.file import unsaved
from training.standing.questions import written
from training.standing.signing import shown_digest

_PREFIX = "fact_"


class CarePlanForm(EntryForm):
    """One field for each fact. ``looking``: it only asks what the entry would change, so nothing is signed yet.

    shown: the digest of the entry whose changes stood on the screen.
    """

    on = DayField(label=gettext_lazy("From"))
    time = ClockField(
        label=gettext_lazy("At"), required=False, help_text=gettext_lazy("Left out: from the day’s start.")
    )
    shown = forms.CharField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, looking: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        plan = self.picture.care_plan
        if plan is None:
            self.initial["time"] = None
        stated = plan.data["facts"] if plan else {}
        for code, fact in self.picture.words.offered.items():
            self.fields[_PREFIX + code] = fact_field(fact, stated.get(code))
            self.initial.setdefault(_PREFIX + code, as_typed(stated.get(code)))
        if looking:
            self.ask_no_proof()
        else:
            self.prove_last()

    def clean_on(self) -> Any:
        on = self.cleaned_data["on"]
        if any(entry.on == on for entry in self.picture.history.known.care_plan):
            words = _("The care plan already has an entry on %(day)s. Void it first, or choose another day.")
            raise forms.ValidationError(words % {"day": written(on)})
        return on

    def clean(self) -> dict[str, Any]:
        cleaned = super().clean() or self.cleaned_data
        if not self.errors:
            settings = self.picture.family.enrolment.programme.about.get("checks")
            wrong = impossible_tube(settings, self.picture.words, self.body()["facts"])
            if wrong is not None:
                self.add_error(_PREFIX + wrong[0], wrong[1])
        return cleaned

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        kinds = {code: fact["kind"] for code, fact in self.picture.words.offered.items()}
        facts = {code: as_stated(kind, data[_PREFIX + code]) for code, kind in kinds.items()}
        return {
            "on": iso(data["on"]),
            "time": clock(data["time"]),
            "facts": {code: value for code, value in facts.items() if value is not None},
        }

    def typed(self) -> dict[str, Any]:
        """What was typed, to be shown again."""
        return {name: self[name].value() for name in self.fields}


def fact_field(fact: dict[str, Any], stated: Any) -> forms.Field:
    """A field for one fact; empty is “not stated”, which is not “no”."""
    not_stated = ("", _("not stated"))
    if fact["kind"] == "yes_no":
        choices = [not_stated, ("yes", _("yes")), ("no", _("no"))]
        return forms.ChoiceField(label=fact["title"], required=False, choices=choices)
    if fact["kind"] == "choice":
        choices = {str(value): title for value, title in fact["choices"].items()}
        if isinstance(stated, str):
            choices.setdefault(stated, stated)
        return forms.ChoiceField(label=fact["title"], required=False, choices=[not_stated, *choices.items()])
    unit = fact.get("unit")
    if is_pressure(unit):
        return PressureField(
            label=fact["title"],
            unit=unit,
            low=_decimal(fact.get("low")),
            high=_decimal(fact.get("high")),
            required=False,
            help_text=_("With its unit, such as 25 %(unit)s. Left out: not stated.") % {"unit": unit},
        )
    return forms.DecimalField(
        label=f"{fact['title']} ({unit})" if unit else fact["title"],
        required=False,
        min_value=_decimal(fact.get("low")),
        max_value=_decimal(fact.get("high")),
        max_digits=9,
        decimal_places=3,
        help_text=_("Left out: not stated."),
        error_messages={"invalid": _("Write a number with a point, such as 4.5.")},
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


def _decimal(value: Any) -> Decimal | None:
    return None if value is None else Decimal(str(value))


def as_typed(value: Any) -> str:
    """A stated value as the form's fields have it."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | Decimal):
        return number_text(Decimal(value))
    return value or ""


def as_stated(kind: str, typed: Any) -> Any:
    """A cleaned value as the record has it; None where the fact is not stated."""
    if typed in (None, ""):
        return None
    if kind == "yes_no":
        return typed == "yes"
    if isinstance(typed, Decimal):
        return int(typed) if typed == typed.to_integral_value() else typed.normalize()
    return typed


class NewCarePlan(LooksFirst):
    """What the entry would change is shown before it is signed."""

    asks = frozenset({Right.SET_UP})
    kind = "care_plan"
    form_class = CarePlanForm
    template_name = "setup/care_plan.html"
    title = gettext_lazy("Care plan")
    lead = gettext_lazy(
        "An entry states all facts and lasts until the next. What it does not state is unknown, not “no”."
    )
    button = gettext_lazy("Sign the care plan")
    done = gettext_lazy("Care plan entered.")
    from_address = ()

    def check(self, form: CarePlanForm) -> None:
        deeds.check(self.file, self.kind, form.body(), form.cleaned_data["intent"], self.now)

    def seen(self, form: CarePlanForm) -> dict[str, Any]:
        return {"effects": self.effects(form), "checks": self.checks(form)}

    def checks(self, form: CarePlanForm) -> list[CheckShown]:
        """What the programme computes beside what is typed."""
        return shown(self.family.enrolment.programme.about.get("checks"), self.picture.words, form.body()["facts"])

    def digest(self, form: CarePlanForm) -> str:
        return shown_digest({"entry": form.body(), "head": self.file.head})

    def effects(self, form: CarePlanForm) -> Effects:
        body = form.body()
        record = unsaved(self.family, self.kind, body, form.cleaned_data["intent"], self.now)
        return effects_of(self.file, record, max(self.today, form.cleaned_data["on"]))

    def said_done(self, made: Record) -> str:
        return _("Care plan entered, from %(day)s.") % {"day": written(DayField().clean(made.data["on"]))}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(has_plan=self.picture.care_plan is not None, **kwargs)
