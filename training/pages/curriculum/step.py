"""One step of a draft: its words, whether it is critical, for whom, under which care plans, and its limits."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.curriculum import drafting
from training.curriculum.judging import MOST_STEPS
from training.curriculum.sentences import measure_words
from training.curriculum.words import Words
from training.pages.curriculum.edition import remove_step
from training.pages.curriculum.fields import (
    DraftForm,
    add_conditions,
    condition_fields,
    conditions_of,
    long_words,
    number_of,
)
from training.pages.curriculum.parts import DraftFormView, find_in

WHO = [
    ("", gettext_lazy("everybody")),
    ("lead", gettext_lazy("only who leads")),
    ("assist", gettext_lazy("only who assists")),
]
KINDS = [
    ("", gettext_lazy("an ordinary step")),
    ("critical", gettext_lazy("critical: anything but alone ends the attempt")),
    ("may_skip", gettext_lazy("may be skipped where it does not apply")),
]


def _number(label: Any) -> forms.DecimalField:
    return forms.DecimalField(
        label=label,
        required=False,
        max_digits=9,
        decimal_places=3,
        error_messages={"invalid": gettext_lazy("Write a number with a point, such as 4.5.")},
        widget=forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off"}),
    )


class StepForm(DraftForm):
    text = long_words(gettext_lazy("What the observer looks for"), required=True, most=300)
    kind = forms.ChoiceField(label=gettext_lazy("This is"), required=False, choices=KINDS, widget=forms.RadioSelect)
    plain = long_words(
        gettext_lazy("Caregiver wording (optional)"),
        most=200,
        help_text=gettext_lazy("Short and plain, as you would say it. The caregiver reads this."),
    )
    why = long_words(gettext_lazy("Why it matters (optional)"))
    watch = long_words(gettext_lazy("Common mistakes (optional)"))
    source = long_words(gettext_lazy("Source (optional)"))
    roles = forms.ChoiceField(label=gettext_lazy("Asked of"), required=False, choices=WHO)
    unit = forms.CharField(
        label=gettext_lazy("Measured in (optional)"),
        required=False,
        max_length=20,
        help_text=gettext_lazy("A unit, such as s or cmH2O. Empty: not measured."),
    )
    low = _number(gettext_lazy("At least (optional)"))
    high = _number(gettext_lazy("At most (optional)"))
    low_from = forms.ChoiceField(label=gettext_lazy("At least, from the order"), required=False)
    high_from = forms.ChoiceField(label=gettext_lazy("At most, from the order"), required=False)

    def __init__(self, *args: Any, step: Mapping[str, Any], words: Words, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.words = words
        for name in ("low_from", "high_from"):
            self.fields[name].choices = [("", _("no order for it")), *_numbers(words)]
        add_conditions(self, words.facts, step.get("applies_when") or {})

    def when_fields(self) -> list[forms.BoundField]:
        return condition_fields(self)

    def opens(self) -> bool:
        """Whether the conditions stand open: something is chosen or wrong in them."""
        return any(field.value() or field.errors for field in self.when_fields())

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        low, high = data.get("low"), data.get("high")
        if not data.get("unit") and (low is not None or high is not None):
            self.add_error("unit", _("A limit needs its unit: a bare number is not enough."))
        if low is not None and high is not None and low > high:
            self.add_error("low", _("This is above “at most”."))
        for name in ("low_from", "high_from"):
            self._same_unit(name, data.get(name))
        return data

    def _same_unit(self, name: str, fact: str | None) -> None:
        """An order in another unit is no limit of this step."""
        unit, theirs = self.cleaned_data.get("unit"), self.words.facts.get(fact or "", {}).get("unit")
        if fact and not unit:
            self.add_error("unit", _("A limit from the order needs the unit too."))
        elif fact and theirs != unit:
            said = {"fact": self.words.fact(fact), "theirs": theirs or _("no unit"), "unit": unit}
            words = _("“%(fact)s” is in %(theirs)s, this step in %(unit)s. Choose a fact in the same unit.")
            self.add_error(name, words % said)

    def step(self, old: Mapping[str, Any]) -> dict[str, Any]:
        """The step as it is now; what this form does not ask about stays."""
        data = self.cleaned_data
        said = {key: data[key].strip() for key in ("text", "plain", "why", "watch", "source")}
        said |= {
            "critical": data["kind"] == "critical",
            "may_skip": data["kind"] == "may_skip",
            "roles": [data["roles"]] if data["roles"] else [],
            "measure": self._measure(old.get("measure") or {}),
            "applies_when": conditions_of(self, self.words.facts),
        }
        kept = {key: value for key, value in old.items() if key not in said}
        return {**kept, **{key: value for key, value in said.items() if value}}

    def _measure(self, old: Mapping[str, Any]) -> dict[str, Any]:
        data = self.cleaned_data
        if not data["unit"]:
            return {}
        limits: dict[str, Decimal | None] = {"low": data["low"], "high": data["high"]}
        order = {side: data[f"{side}_from"] for side in ("low", "high") if data[f"{side}_from"]}
        kept = {key: value for key, value in old.items() if key not in ("unit", "low", "high", "order")}
        own = {k: number_of(v) for k, v in limits.items() if v is not None}
        return {"unit": data["unit"], **kept, **own, **({"order": order} if order else {})}


def _numbers(words: Words) -> list[tuple[str, str]]:
    """The facts that a limit may be taken from, each with its unit."""
    numbers = {code: fact for code, fact in words.offered.items() if fact.get("kind") == "number"}
    return [
        (code, f"{fact['title']} ({fact['unit']})" if fact.get("unit") else fact["title"])
        for code, fact in numbers.items()
    ]


class EditStep(DraftFormView):
    """Change a step, or take it out of the draft."""

    form_class = StepForm
    template_name = "curriculum/step.html"

    @cached_property
    def step(self) -> dict[str, Any]:
        return find_in(self.edition.get("steps", []), self.kwargs["step"])

    @property
    def title(self) -> str:
        number = self.edition["steps"].index(self.step) + 1
        return _("Step %(number)s") % {"number": number}

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "step": self.step, "words": self.words}

    def get_initial(self) -> dict[str, Any]:
        step, measure = self.step, self.step.get("measure") or {}
        roles = step.get("roles", ())
        return {
            **super().get_initial(),
            **{key: step.get(key, "") for key in ("text", "plain", "why", "watch", "source")},
            "kind": "critical" if step.get("critical") else "may_skip" if step.get("may_skip") else "",
            "roles": roles[0] if len(roles) == 1 else "",
            **{key: measure.get(key) for key in ("unit", "low", "high")},
            **{f"{side}_from": fact for side, fact in (measure.get("order") or {}).items()},
        }

    def post(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        if "remove" not in request.POST:
            return super().post(request, *args, **kwargs)
        text = self.step["text"]
        refused = remove_step(self, self.step["code"], self.version_sent)
        if refused:
            messages.error(request, refused)
        else:
            messages.success(request, _("Step taken out of the draft: “%(text)s”.") % {"text": text})
        return redirect(self.home)

    def form_valid(self, form: StepForm) -> HttpResponse:
        if "show" in self.request.POST:
            return self.render_to_response(self.get_context_data(form=form))
        return super().form_valid(form)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        form = context["form"]
        sound = form.is_bound and form.is_valid()
        measure = (form.step(self.step) if sound else self.step).get("measure")
        return {**context, "measured": measure_words(measure, self.words), "is_sound": sound or not form.is_bound}

    def become(self, form: StepForm) -> dict[str, Any]:
        return {**self.draft.body, "edition": drafting.with_step(self.edition, form.step(self.step))}

    def after(self, form: StepForm) -> str:
        return f"{self.home}#step-{self.step['code']}"

    def page(self, **more: Any) -> dict[str, Any]:
        return super().page(step=self.step, **more)


class AddStep(EditStep):
    """A new step at the end of the list; the buttons move it where it belongs."""

    @cached_property
    def step(self) -> dict[str, Any]:
        code = drafting.new_step_code(self.programme, self.draft.skill, self.edition.get("steps", ()))
        return {"code": code, "text": ""}

    @property
    def title(self) -> str:
        return _("Add a step")

    def become(self, form: StepForm) -> dict[str, Any]:
        if len(self.edition.get("steps", ())) >= MOST_STEPS:
            form.add_error(None, _("A checklist has at most %(most)s steps.") % {"most": MOST_STEPS})
        return super().become(form)

    def after(self, form: StepForm) -> str:
        if "more" in self.request.POST:
            return reverse("step-new", args=[self.programme.public_id, self.draft.skill])
        return super().after(form)
