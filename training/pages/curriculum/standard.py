"""A standard edited in words: plain fields, and beside them its sentences and an example worked out by the rules."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django import forms
from django.forms import BaseFormSet, formset_factory
from django.http import HttpResponse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import Problem, RefusedError
from competency.reading_programme import read_edition
from training.curriculum.judging import problems_of_standard
from training.curriculum.sentences import KINDS, kind_words, standard_words
from training.curriculum.worked_example import MOST_PASSES, Story, TooManyError, stories
from training.pages.curriculum.fields import DraftForm, PeriodField
from training.pages.curriculum.parts import DraftFormView

MOST_NEEDS = 12


def _count(label: Any, **kwargs: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, required=False, min_value=1, max_value=1000, **kwargs)


def _kinds(key: str, label: Any) -> forms.MultipleChoiceField:
    return forms.MultipleChoiceField(
        label=label, required=False, choices=list(KINDS[key].items()), widget=forms.CheckboxSelectMultiple
    )


class NeedForm(forms.Form):
    """So many passes of one kind. A row without a number of passes is no need."""

    passes = _count(gettext_lazy("Passes"))
    days = _count(gettext_lazy("On different days"))
    observers = _count(gettext_lazy("Before different observers"))
    places = _count(gettext_lazy("In different places"))
    within = PeriodField(label=gettext_lazy("All within"), required=False)
    setting = _kinds("setting", gettext_lazy("Shown (none ticked: anywhere)"))
    role = _kinds("role", gettext_lazy("Role (none: either)"))
    mode = _kinds("mode", gettext_lazy("Watched (none: either way)"))
    place = _kinds("place", gettext_lazy("Place (none: any)"))

    def need(self) -> dict[str, Any]:
        data = self.cleaned_data
        found: dict[str, Any] = {"passes": data["passes"]}
        found |= {key: data[key] for key in KINDS if data[key]}
        found |= {key: data[key] for key in ("days", "observers", "places") if (data[key] or 1) > 1}
        return {**found, **({"within": data["within"]} if data["within"] else {})}

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if (
            self.has_changed()
            and not data.get("passes")
            and any(value for key, value in data.items() if key != "passes")
        ):
            self.add_error("passes", _("Say how many passes; without a number this is no need."))
        return data


class StandardForm(DraftForm):
    evidence = forms.ChoiceField(
        label=gettext_lazy("Shown by"),
        choices=[
            ("demonstration", gettext_lazy("return demonstrations")),
            ("certificate", gettext_lazy("a card issued elsewhere, such as for a course")),
        ],
        widget=forms.RadioSelect,
    )
    pass_mark = forms.IntegerField(
        label=gettext_lazy("Pass mark, per cent of the steps done alone"),
        min_value=0,
        max_value=100,
        help_text=gettext_lazy("Critical steps always have to be done alone."),
    )
    after_failure = forms.ChoiceField(
        label=gettext_lazy("After an attempt that was critical or not passed"),
        choices=[
            ("restart", gettext_lazy("the count starts again")),
            ("keep", gettext_lazy("earlier passes still count")),
        ],
        widget=forms.RadioSelect,
    )
    signatures = forms.MultipleChoiceField(
        label=gettext_lazy("Then signed by"),
        required=False,
        choices=[("caregiver", gettext_lazy("the caregiver")), ("educator", gettext_lazy("the educator"))],
        widget=forms.CheckboxSelectMultiple,
    )
    valid_for = PeriodField(label=gettext_lazy("Holds for (empty: does not lapse)"), required=False)
    first_valid_for = PeriodField(label=gettext_lazy("The first time, holds for (optional)"), required=False)
    valid_to = forms.ChoiceField(
        label=gettext_lazy("Through"),
        choices=[("day", gettext_lazy("that very day")), ("month_end", gettext_lazy("the end of that month"))],
        widget=forms.RadioSelect,
    )
    grace = PeriodField(
        label=gettext_lazy("After the last day, a renewal is enough for (empty: as long as it holds)"),
        required=False,
        zero=True,
    )
    standard_source = forms.CharField(
        label=gettext_lazy("Source of these counts (optional)"),
        required=False,
        max_length=500,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def __init__(self, *args: Any, standard: Mapping[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = formset_factory(NeedForm, extra=1, max_num=MOST_NEEDS, absolute_max=MOST_NEEDS)
        data = self.data if self.is_bound else None
        self.needs: BaseFormSet = rows(data, initial=list(standard.get("needs") or ()), prefix="needs")
        self.renewal: BaseFormSet = rows(data, initial=list(standard.get("renewal") or ()), prefix="renewal")

    def is_valid(self) -> bool:
        return all([super().is_valid(), self.needs.is_valid(), self.renewal.is_valid()])

    def standard(self, old: Mapping[str, Any]) -> dict[str, Any]:
        """The standard as the edition writes it; what this form does not ask about stays."""
        data = self.cleaned_data
        if data["evidence"] == "certificate":
            return {"evidence": "certificate"}
        said = {
            "needs": _needs(self.needs),
            "renewal": _needs(self.renewal),
            "after_failure": "keep" if data["after_failure"] == "keep" else None,
            "pass_mark": data["pass_mark"] if data["pass_mark"] != 100 else None,
            "signatures": data["signatures"],
            "valid_for": data["valid_for"],
            "first_valid_for": data["first_valid_for"],
            "valid_to": "month_end" if data["valid_to"] == "month_end" else None,
            "grace": data["grace"],
            "evidence": None,
        }
        kept = {key: value for key, value in old.items() if key not in said}
        return {**kept, **{key: value for key, value in said.items() if value not in (None, "", [])}}


def _needs(rows: BaseFormSet) -> list[dict[str, Any]]:
    return [form.need() for form in rows if form.cleaned_data.get("passes")]


class EditStandard(DraftFormView):
    """The form; "show" shows what it would mean and saves nothing."""

    form_class = StandardForm
    template_name = "curriculum/standard.html"
    title = gettext_lazy("Standard")
    inside = "edition.standard"

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "standard": self.edition.get("standard", {})}

    def get_initial(self) -> dict[str, Any]:
        usual = {"evidence": "demonstration", "pass_mark": 100, "after_failure": "restart", "valid_to": "day"}
        source = self.edition.get("standard_source", "")
        return {**super().get_initial(), **usual, **self.edition.get("standard", {}), "standard_source": source}

    def form_valid(self, form: StandardForm) -> HttpResponse:
        if "show" in self.request.POST:
            return self.render_to_response(self.get_context_data(form=form))
        return super().form_valid(form)

    def become(self, form: StandardForm) -> dict[str, Any]:
        edition = self.edition_with(form)
        if edition["standard"].get("evidence") != "certificate" and not edition["standard"].get("needs"):
            form.add_error(None, _("Say at least one need: how many passes."))
            return edition
        problems = list(problems_in_standard(edition))
        if problems:
            raise RefusedError(problems)
        return {**self.draft.body, "edition": edition}

    def edition_with(self, form: StandardForm) -> dict[str, Any]:
        edition = {**self.edition, "standard": form.standard(self.edition.get("standard", {}))}
        edition.pop("standard_source", None)
        if form.cleaned_data["standard_source"]:
            edition["standard_source"] = form.cleaned_data["standard_source"]
        return edition

    def after(self, form: StandardForm) -> str:
        return self.request.path if "more" in self.request.POST else self.home

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        context = super().get_context_data(**kwargs)
        return {**context, **self.said(context["form"])}

    def said(self, form: StandardForm) -> dict[str, Any]:
        """The standard in sentences and worked out, as the form has it now; as the draft has it where it has errors."""
        sound = form.is_bound and form.is_valid()
        edition = self.edition_with(form) if sound else self.edition
        problems = list(problems_in_standard(edition))
        if problems:
            return {"sentences": [], "problems": [f"{p.path.removeprefix('edition.')}: {p.message}" for p in problems]}
        return {
            "sentences": standard_words({"edition": 0, **edition}),
            "is_saved": not sound,
            **example(edition["standard"], self.member.today(self.now)),
        }


def problems_in_standard(edition: Mapping[str, Any]) -> Iterator[Problem]:
    """What the rules, and this site, refuse in the standard alone."""
    found: list[Problem] = []
    bare = {"edition": 1, "in_force_from": "2000-01-02", "recorded_at": "2000-01-01T00:00:00Z"}
    shown = edition["standard"].get("evidence") != "certificate"
    steps = {"steps": [{"code": "a"}]} if shown else {}
    read_edition({**bare, **steps, "standard": edition["standard"]}, "edition", found, is_first=True)
    yield from (p for p in found if p.path.startswith("edition.standard"))
    if not found:
        yield from (p for p in problems_of_standard(edition) if p.path.startswith("edition.standard"))


def example(standard: Mapping[str, Any], today: Any) -> dict[str, Any]:
    """The invented caregiver's stories, each with its attempts and spans in words."""
    try:
        found = stories(standard, today)
    except TooManyError:
        return {"too_many": MOST_PASSES}
    return {"stories": [_told(story) for story in found]}


TITLES = {
    "first": gettext_lazy("A first sign-off"),
    "again": gettext_lazy("Shown again before the last day"),
    "failure": gettext_lazy("When the last attempt goes wrong"),
}


def _told(story: Story) -> dict[str, Any]:
    return {"title": TITLES[story.kind], "tries": [_tried(t) for t in story.tries], "spans": story.spans}


def _tried(one: Any) -> dict[str, Any]:
    kinds = kind_words({key: [getattr(one, key)] for key in ("setting", "role", "place")})
    observer = _("observer %(letter)s") % {"letter": "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[(one.observer - 1) % 26]}
    return {"on": one.on, "passed": one.passed, "how": ", ".join([*kinds, observer])}
