"""The draft of facts, notice and checks: what a care plan may state, and the words around every checklist."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.forms import BaseFormSet, formset_factory
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import Problem, RefusedError
from competency.figures.pressure import PASCAL
from training.curriculum.checks import settings_in_words
from training.curriculum.drafting import FACTS, NO_SKILLS, ChangedByAnotherError, code_from
from training.curriculum.models import Edition
from training.curriculum.stating import LONGEST_NOTICE, by_code, in_force_since, uses_of
from training.curriculum.words import facts_of
from training.pages.curriculum.fields import DraftForm, long_words, number_of
from training.pages.curriculum.hub import said_problems
from training.pages.curriculum.parts import DraftFormView, PartView, find_in
from training.pages.curriculum.rules import RulesFormView
from training.people.access import Right
from training.standing.proposing import Choice, Proposal, earliest_day

KINDS = [
    ("choice", gettext_lazy("one of several words")),
    ("number", gettext_lazy("a number with its unit")),
    ("yes_no", gettext_lazy("yes or no")),
]


class FactsDraft(PartView):
    """The draft as it is now."""

    part = FACTS

    def get(self, request: HttpRequest, programme: Any) -> HttpResponse:
        body = self.draft.body
        facts = [{**fact, "said": said_of(fact)} for fact in facts_of(body["facts"]).values()]
        page = {
            "facts": [fact for fact in facts if not fact.get("retired")],
            "retired": [fact for fact in facts if fact.get("retired")],
            "choosers": [fact for fact in facts if fact["kind"] == "choice" and not fact.get("retired")],
            "body": body,
            "checks": settings_in_words(body.get("checks"), self.words),
            "unset": [key for key in ("tube", "catheter", "spares") if key not in body.get("checks", {})],
            "problems": self.problems(),
            "may_publish": self.may(Right.PUBLISH),
        }
        return render(request, "curriculum/facts.html", self.page(**page))

    def problems(self) -> list[str]:
        """What would be refused if it were published now."""
        first = earliest_day(self.programme, self.now)
        choice = Choice(drafts={FACTS: self.draft.version}, first_day=first, note=".")
        return said_problems(Proposal(self.programme, [self.draft], choice, self.now).problems)


def said_of(fact: dict[str, Any]) -> str:
    """What a care plan may state: the choices, or the unit and where slips of the keyboard are caught."""
    if fact["kind"] == "yes_no":
        return _("yes or no")
    if fact["kind"] == "choice":
        return ", ".join(fact["choices"].values())
    said = {"low": fact.get("low"), "high": fact.get("high"), "unit": fact.get("unit") or _("no unit")}
    if said["low"] is None or said["high"] is None:
        return str(said["unit"])
    return _("%(unit)s, from %(low)s to %(high)s") % said


# The title and the notice ---------------------------------------------------------------------------------


class NoticeForm(DraftForm):
    title = forms.CharField(label=gettext_lazy("Title of the programme"), max_length=120)
    notice = long_words(
        gettext_lazy("Notice, shown wherever care steps are"),
        required=True,
        rows=4,
        most=LONGEST_NOTICE,
        help_text=gettext_lazy("Say that it defers to the prescriber, your policy, local law and licensed practice."),
    )
    adapted = forms.BooleanField(
        label=gettext_lazy("We have adapted this programme: it is no longer a sample"),
        required=False,
        help_text=gettext_lazy(
            "Only once every step, figure and caution was read against your own policy. Reword the notice too. "
            "It is signed when this draft is published, and stays in the record."
        ),
    )

    def __init__(self, *args: Any, is_sample: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not is_sample:
            del self.fields["adapted"]


class EditNotice(DraftFormView):
    part = FACTS
    form_class = NoticeForm
    title = gettext_lazy("Title and notice")
    lead = gettext_lazy("A skill’s own cautions are changed in the draft of that skill.")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "is_sample": bool(self.programme.about.get("sample"))}

    def get_initial(self) -> dict[str, Any]:
        said = {key: self.draft.body.get(key) for key in ("title", "notice", "adapted")}
        return {**super().get_initial(), **said}

    def become(self, form: NoticeForm) -> dict[str, Any]:
        rest = {key: value for key, value in self.draft.body.items() if key != "adapted"}
        adapted = {"adapted": True} if form.cleaned_data.get("adapted") else {}
        return {**rest, **{key: form.cleaned_data[key].strip() for key in ("title", "notice")}, **adapted}


# One fact -------------------------------------------------------------------------------------------------


class ChoiceForm(forms.Form):
    """One of a choice's values. Without words it is none; a new one stands last until it is given a place."""

    code = forms.CharField(widget=forms.HiddenInput, required=False)
    place = forms.IntegerField(label=gettext_lazy("Place"), required=False, min_value=1, max_value=99)
    title = forms.CharField(label=gettext_lazy("Words"), required=False, max_length=120)


class FactForm(DraftForm):
    title = forms.CharField(label=gettext_lazy("Name, for staff"), max_length=120)
    plain = forms.CharField(label=gettext_lazy("Plain words, for caregivers"), max_length=200)
    kind = forms.ChoiceField(label=gettext_lazy("What a care plan states"), choices=KINDS)
    unit = forms.CharField(
        label=gettext_lazy("Unit, of a number"),
        required=False,
        max_length=12,
        help_text=gettext_lazy("Such as mm, cm, Fr, h. A pressure: cmH2O, mmHg or kPa."),
    )
    low = forms.DecimalField(label=gettext_lazy("Lowest that is taken"), required=False, max_digits=9, decimal_places=3)
    high = forms.DecimalField(
        label=gettext_lazy("Highest that is taken"),
        required=False,
        max_digits=9,
        decimal_places=3,
        help_text=gettext_lazy("These catch slips of the keyboard. They say nothing about what is right for anyone."),
    )

    no_device = forms.BooleanField(
        label=gettext_lazy("Says nothing about equipment"),
        required=False,
        help_text=gettext_lazy("Such as an age group. Rechecks of everyone on one device then do not offer it."),
    )

    def __init__(self, *args: Any, fact: dict[str, Any], published: dict[str, Any] | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.published = published
        if published is not None:
            for name in ("kind", "unit"):
                self.fields[name].disabled = True
            self.fields["kind"].help_text = _("Published: care plans state it so. Retire it and add another instead.")
        rows = formset_factory(ChoiceForm, extra=3, max_num=40, absolute_max=40)
        choices = fact.get("choices", {})
        initial = [{"code": code, "place": n, "title": choices[code]} for n, code in enumerate(choices, start=1)]
        self.rows: BaseFormSet = rows(self.data if self.is_bound else None, initial=initial, prefix="choice")
        self.known = dict(choices)

    def is_valid(self) -> bool:
        return all([super().is_valid(), self.rows.is_valid()])

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        low, high = data.get("low"), data.get("high")
        if low is not None and high is not None and low > high:
            self.add_error("high", _("This is below the lowest."))
        if data.get("kind") == "number" and _is_almost_a_pressure(data.get("unit", "")):
            self.add_error("unit", _("Write a pressure’s unit as cmH2O, mmHg or kPa."))
        return data

    def choices(self) -> dict[str, Any]:
        """choices and choice_order as a fact keeps them."""
        rows = [row.cleaned_data for row in self.rows if row.cleaned_data.get("title", "").strip()]
        rows.sort(key=lambda row: row.get("place") or 99)
        found: dict[str, str] = {}
        for row in rows:
            title = row["title"].strip()
            code = row["code"] if row["code"] in self.known else code_from(title, [*self.known, *found])
            found[code] = title
        for code, title in (self.published or {}).get("choices", {}).items():
            if code not in found:
                self.add_error(None, _("“%(choice)s” is published and stays: care plans state it.") % {"choice": title})
        if not found:
            self.add_error(None, _("Write at least one choice."))
        if len(set(found.values())) < len(found):
            self.add_error(None, _("Two choices have the same words."))
        return {"choices": found, "choice_order": list(found)}


def _is_almost_a_pressure(unit: str) -> bool:
    return unit not in PASCAL and unit.lower() in {known.lower() for known in PASCAL}


class EditFact(RulesFormView):
    """A fact to add, to reword, to retire or to bring back."""

    part = FACTS
    form_class = FactForm
    template_name = "curriculum/fact.html"
    title = gettext_lazy("A fact of the care plan")
    removed = gettext_lazy("Out of what care plans are asked for, once this is published.")

    @cached_property
    def fact(self) -> dict[str, Any]:
        if self.is_new:
            return {}
        return facts_of([find_in(self.draft.body["facts"], self.kwargs["code"])])[self.kwargs["code"]]

    @cached_property
    def published(self) -> dict[str, Any] | None:
        return facts_of(self.programme.about["facts"]).get(self.kwargs.get("code", ""))

    def find(self) -> None:
        super().find()
        _found = self.fact

    def page(self, **more: Any) -> dict[str, Any]:
        return super().page(fact=self.fact, is_published=self.published is not None, **more)

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "fact": self.fact, "published": self.published}

    def get_initial(self) -> dict[str, Any]:
        asked = ("title", "plain", "kind", "unit", "low", "high")
        said = {key: self.fact[key] for key in asked if key in self.fact}
        return {**super().get_initial(), **said, "no_device": not self.fact.get("device", True)}

    def become(self, form: FactForm) -> dict[str, Any]:
        data = form.cleaned_data
        code = self.fact.get("code") or code_from(data["title"], by_code(self.draft.body["facts"]))
        made: dict[str, Any] = {"code": code, **{key: data[key].strip() for key in ("title", "plain", "kind")}}
        if data["kind"] == "choice":
            made |= form.choices()
        elif data["kind"] == "number":
            made |= {"unit": data["unit"].strip()} if data["unit"].strip() else {}
            made |= {key: number_of(data[key]) for key in ("low", "high") if data[key] is not None}
        made |= {"retired": True} if self.fact.get("retired") else {}
        made |= {"device": False} if data["no_device"] else {}
        return self.with_fact(made)

    def with_fact(self, made: dict[str, Any]) -> dict[str, Any]:
        facts = list(self.draft.body["facts"])
        if self.is_new:
            return {**self.draft.body, "facts": [*facts, made]}
        return {**self.draft.body, "facts": [made if f["code"] == made["code"] else f for f in facts]}

    def post(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        if "back" in request.POST and self.fact.get("retired"):
            return self.bring_back()
        return super().post(request, *args, **kwargs)

    def bring_back(self) -> HttpResponse:
        try:
            self.keep(self.with_fact({k: v for k, v in self.fact.items() if k != "retired"}), self.version_sent)
        except ChangedByAnotherError as error:
            messages.error(self.request, self.say_changed(error.draft))
        else:
            messages.success(self.request, _("Brought back: care plans will be asked for it again."))
        return redirect(self.home)

    def without(self) -> dict[str, Any]:
        """Retired where care plans may state it; gone where it was never published."""
        code = self.fact["code"]
        problems = list(uses_of(code, self.draft.body, self._asking()))
        if problems:
            raise RefusedError([Problem(p.path, p.message) for p in dict.fromkeys(problems)])
        if self.published is not None:
            return self.with_fact({**self.fact, "retired": True})
        return {**self.draft.body, "facts": [f for f in self.draft.body["facts"] if f["code"] != code]}

    def _asking(self) -> list[tuple[str, dict[str, Any]]]:
        """The editions in force or to come, and those in drafts, each with its title."""
        editions: list[Edition] = in_force_since(self.programme.editions.all(), self.member.today(self.now))
        found = [(f"{self.words.skill(e.skill).title}, {_('edition')} {e.number}", e.body) for e in editions]
        drafts = self.programme.drafts.exclude(skill__in=NO_SKILLS)
        return found + [(f"{d.body['words']['title']}, {_('draft')}", d.body["edition"]) for d in drafts]
