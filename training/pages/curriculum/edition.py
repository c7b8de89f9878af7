"""The draft of one edition: everything it says, its steps to reorder, and what still stands in the way."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import timedelta
from typing import Any

from django import forms
from django.contrib import messages
from django.forms import BaseFormSet, formset_factory
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import Problem, RefusedError
from training.curriculum import drafting
from training.curriculum.drafting import ChangedByAnotherError
from training.curriculum.sentences import conditions, edition_words, measure_words, standard_words
from training.curriculum.words import Words
from training.pages.curriculum.fields import (
    DraftForm,
    PeriodField,
    add_conditions,
    condition_fields,
    conditions_of,
)
from training.pages.curriculum.hub import SkillWordsForm, said_problems
from training.pages.curriculum.parts import DraftFormView, PartView
from training.people.access import Right
from training.standing.proposing import Choice, Proposal, earliest_day, place_in_draft

ROLES = {"lead": gettext_lazy("leading"), "assist": gettext_lazy("assisting")}


class EditionDraft(PartView):
    """The draft as it is now."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        edition = self.edition
        steps = edition.get("steps", ())
        page = {
            "standard": standard_words({"edition": 0, **edition}),
            "rules": edition_words(edition, self.words)[:-1],
            "steps": [step_line(n, step, self.words) for n, step in enumerate(steps, start=1)],
            "problems": self.problems(),
            "is_new": self.draft.skill not in self.words.skills,
            "is_card": edition.get("standard", {}).get("evidence") == "certificate",
            "number": (self.draft.based_on or 0) + 1,
            "may_publish": self.may(Right.PUBLISH),
        }
        return render(request, "curriculum/edition.html", self.page(**page))

    def problems(self) -> list[str]:
        """What would be refused if this draft, with that of the facts, were published on the first day there is."""
        first = earliest_day(self.programme, self.now)
        last = self.programme.editions.filter(skill=self.draft.skill).order_by("number").last()
        if last is not None:
            first = max(first, last.in_force_from + timedelta(days=1))
        drafts = [self.draft, *self.programme.drafts.filter(skill=drafting.FACTS)]
        choice = Choice(drafts={d.skill: d.version for d in drafts}, first_day=first, note=".")
        return said_problems(Proposal(self.programme, drafts, choice, self.now).problems)


def step_line(number: int, step: Mapping[str, Any], words: Words) -> dict[str, Any]:
    return {
        "number": number,
        "code": step["code"],
        "text": step["text"],
        "plain": step.get("plain", ""),
        "critical": step.get("critical", False),
        "may_skip": step.get("may_skip", False),
        "why": step.get("why", ""),
        "watch": step.get("watch", ""),
        "limits": measure_words(step.get("measure"), words),
        "roles": ", ".join(str(ROLES[r]) for r in ROLES if r in step.get("roles", ())),
        "when": conditions(step.get("applies_when"), words),
    }


class MoveStep(PartView):
    """One step up or down, by a button: "up:CODE" or "down:CODE"."""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        way, _colon, code = request.POST.get("move", "").partition(":")
        known = any(step["code"] == code for step in self.edition.get("steps", ()))
        if way in ("up", "down") and known:
            moved = drafting.moved_step(self.edition, code, -1 if way == "up" else 1)
            try:
                self.keep({**self.draft.body, "edition": moved}, self.version_sent)
            except ChangedByAnotherError as error:
                messages.error(request, f"{self.say_changed(error.draft)} {_('Nothing was moved.')}")
        return redirect(f"{self.home}#step-{code}" if known else self.home)


# Words ----------------------------------------------------------------------------------------------------


class WordsForm(SkillWordsForm, DraftForm):
    pass


class EditWords(DraftFormView):
    form_class = WordsForm
    title = gettext_lazy("Title, reason and cautions")
    lead = gettext_lazy("These words change everywhere on the day they are published, on older editions too.")
    inside = "words"

    def get_initial(self) -> dict[str, Any]:
        words = self.draft.body["words"]
        return {**super().get_initial(), **words, "cautions": "\n".join(words.get("cautions", ()))}

    def become(self, form: WordsForm) -> dict[str, Any]:
        kept = {k: v for k, v in self.draft.body["words"].items() if k not in drafting.WORDS}
        return {**self.draft.body, "words": {**kept, **form.words()}}


# When, and what first -------------------------------------------------------------------------------------

CHANGES = [
    ("", gettext_lazy("changes nothing")),
    ("recheck", gettext_lazy("shown again at once")),
    ("recheck_by", gettext_lazy("shown again within")),
    ("restart", gettext_lazy("starts again from the first pass")),
]


class FirstForm(forms.Form):
    """A skill that comes first."""

    skill = forms.ChoiceField(label=gettext_lazy("Skill"), required=False)
    within = PeriodField(label=gettext_lazy("Shown within (optional)"), required=False)
    only_to_learn = forms.BooleanField(
        label=gettext_lazy("Only on the way there: a lapse of it later holds nothing"), required=False
    )

    def __init__(self, *args: Any, skills: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["skill"].choices = [("", _("none")), *skills]

    def prerequisite(self) -> dict[str, Any]:
        data = self.cleaned_data
        found = {"skill": data["skill"], "within": data["within"], "only_to_learn": data["only_to_learn"]}
        return {key: value for key, value in found.items() if value}


class WhenForm(DraftForm):
    """When a skill is required, what comes first, and what a change of the care plan does."""

    needs_authorisation = forms.BooleanField(
        label=gettext_lazy("Counts on the patient only with the prescriber’s authorisation"), required=False
    )

    def __init__(
        self, *args: Any, edition: dict[str, Any], words: Words, skills: list[tuple[str, str]], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.words = words
        add_conditions(self, words.facts, edition.get("applies_when") or {})
        effects = edition.get("on_change", {})
        self.changing = [code for code in words.facts if code in effects or code in words.offered]
        for code in self.changing:
            self._add_change(code, effects.get(code))
        rows = formset_factory(FirstForm, extra=2, max_num=30, absolute_max=60)
        self.first: BaseFormSet = rows(
            self.data if self.is_bound else None,
            initial=[dict(p) for p in edition.get("requires", ())],
            prefix="first",
            form_kwargs={"skills": skills},
        )

    def _add_change(self, code: str, effect: Any) -> None:
        title = self.words.fact(code)
        self.fields[f"change_{code}"] = forms.ChoiceField(label=title, required=False, choices=CHANGES)
        within = _("%(fact)s: within") % {"fact": title}
        self.fields[f"by_{code}"] = PeriodField(label=within, required=False, zero=True)
        is_by = isinstance(effect, dict)
        self.initial.setdefault(f"change_{code}", "recheck_by" if is_by else effect or "")
        self.initial.setdefault(f"by_{code}", effect["recheck_by"] if is_by else "")

    def is_valid(self) -> bool:
        return super().is_valid() and self.first.is_valid()

    def when_fields(self) -> list[forms.BoundField]:
        return condition_fields(self)

    def change_fields(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        return [(self[f"change_{code}"], self[f"by_{code}"]) for code in self.changing]

    def on_change(self) -> dict[str, Any]:
        found: dict[str, Any] = {}
        for code in self.changing:
            effect, period = self.cleaned_data.get(f"change_{code}"), self.cleaned_data.get(f"by_{code}")
            if effect == "recheck_by" and not period:
                self.add_error(f"by_{code}", _("Say within how long it is shown again."))
            elif effect:
                found[code] = {"recheck_by": period} if effect == "recheck_by" else effect
        return found

    def requires(self) -> list[dict[str, Any]]:
        found = [form.prerequisite() for form in self.first if form.cleaned_data.get("skill")]
        for n, one in enumerate(found):
            if one["skill"] in [other["skill"] for other in found[:n]]:
                self.add_error(None, _("What comes first: a skill is named twice."))
        return found


class EditWhen(DraftFormView):
    form_class = WhenForm
    template_name = "curriculum/when.html"
    title = gettext_lazy("When it is asked, and what comes first")
    inside = "edition"

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "edition": self.edition, "words": self.words, "skills": self.skills()}

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), "needs_authorisation": self.edition.get("needs_authorisation", False)}

    def skills(self) -> list[tuple[str, str]]:
        """Every other skill, those that are only drafts too."""
        titles = {code: words.title for code, words in self.words.skills.items()}
        for draft in self.programme.drafts.exclude(skill__in=drafting.NO_SKILLS):
            titles[draft.skill] = draft.body["words"]["title"]
        return [(code, title) for code, title in titles.items() if code != self.draft.skill]

    def become(self, form: WhenForm) -> dict[str, Any]:
        said = {
            "applies_when": conditions_of(form, self.words.facts),
            "needs_authorisation": form.cleaned_data["needs_authorisation"],
            "requires": form.requires(),
            "on_change": form.on_change(),
        }
        rest = {key: value for key, value in self.edition.items() if key not in said}
        return {**self.draft.body, "edition": {**rest, **{key: value for key, value in said.items() if value}}}


# One step -------------------------------------------------------------------------------------------------


def remove_step(view: PartView, code: str, version: int) -> str:
    """Take a step out of the draft. What went wrong, in words; empty where nothing did."""
    try:
        view.keep({**view.draft.body, "edition": drafting.without_step(view.edition, code)}, version)
    except RefusedError as refusal:
        placed = [Problem(place_in_draft(p.path, view.words), p.message) for p in refusal.problems]
        return " ".join([_("The step stays."), *said_problems(placed)])
    except ChangedByAnotherError as error:
        return f"{view.say_changed(error.draft)} {_('Nothing was removed.')}"
    return ""
