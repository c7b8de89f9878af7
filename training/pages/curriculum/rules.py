"""The draft of sets, team and items: who is asked for which skills, how many people are needed, what is in place."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.forms import BaseFormSet, formset_factory
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import Problem, RefusedError
from training.curriculum.drafting import NO_SKILLS, RULES, ChangedByAnotherError, code_from
from training.curriculum.programme_wording import MOST_HOURS
from training.curriculum.sentences import period_words
from training.pages.curriculum.fields import DraftForm, PeriodField, long_words
from training.pages.curriculum.hub import said_problems
from training.pages.curriculum.parts import DraftFormView, PartView, find_in
from training.people.access import Right
from training.standing.proposing import Choice, Proposal, earliest_day


class RulesDraft(PartView):
    """The draft as it is now."""

    def get(self, request: HttpRequest, programme: Any) -> HttpResponse:
        body, titles = self.draft.body, dict(skill_titles(self))
        sets = [
            {"code": code, "title": s["title"], "skills": [titles.get(k, k) for k in s["skills"]]}
            for code, s in body["sets"].items()
        ]
        items = [
            {**item, "holds": period_words(item["valid_for"]) if item.get("valid_for") else ""}
            for item in body["items"]
        ]
        team = [{"place": n, "name": way["name"], "people": _people(way, body["sets"]), **_alone(way)}
                for n, way in enumerate(body["team"])]  # fmt: skip
        page = {"sets": sets, "team": team, "items": items, "problems": self.problems()}
        return render(request, "curriculum/rules.html", self.page(may_publish=self.may(Right.PUBLISH), **page))

    def problems(self) -> list[str]:
        """What would be refused if it were published with every other draft on the first day there is."""
        first = earliest_day(self.programme, self.now)
        last = self.programme.rule_sets.order_by("in_force_from").last()
        first = max(first, last.in_force_from + first.resolution) if last else first
        choice = Choice(drafts={RULES: self.draft.version}, first_day=first, note=".")
        return said_problems(Proposal(self.programme, [self.draft], choice, self.now).problems)


def _people(way: dict[str, Any], sets: dict[str, Any]) -> list[tuple[int, str, Any]]:
    return [(p["count"], sets.get(p["set"], {}).get("title", p["set"]), p.get("minimum_age")) for p in way["people"]]


def _alone(way: dict[str, Any]) -> dict[str, Any]:
    return {"patient_alone": way.get("patient_alone", False)}


def skill_titles(view: PartView) -> list[tuple[str, str]]:
    """Every skill of the programme, those that are only drafts too."""
    titles = {code: words.title for code, words in view.words.skills.items()}
    for draft in view.programme.drafts.exclude(skill__in=NO_SKILLS):
        titles[draft.skill] = draft.body["words"]["title"]
    return list(titles.items())


class RulesFormView(DraftFormView):
    """A form on one set, way or item. kind: the key of the draft's body; the address names which one, or none."""

    template_name = "curriculum/rules_form.html"
    removed: Promise | str = gettext_lazy("Taken out of the draft.")

    def post(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        if "remove" not in request.POST or self.is_new:
            return super().post(request, *args, **kwargs)
        try:
            self.keep(self.without(), self.version_sent)
        except RefusedError as refusal:
            messages.error(request, " ".join(said_problems(refusal.problems)))
            return redirect(request.path)
        except ChangedByAnotherError as error:
            messages.error(request, f"{self.say_changed(error.draft)} {_('Nothing was removed.')}")
            return redirect(self.home)
        messages.success(request, str(self.removed))
        return redirect(self.home)

    def without(self) -> dict[str, Any]:
        """The draft's body without what this page is about. May raise RefusedError."""
        raise NotImplementedError

    @property
    def is_new(self) -> bool:
        return not self.kwargs.get("code") and "place" not in self.kwargs

    def page(self, **more: Any) -> dict[str, Any]:
        return super().page(is_new=self.is_new, **more)

    def after(self, form: DraftForm) -> str:
        return self.home


# Sets -----------------------------------------------------------------------------------------------------


class SetForm(DraftForm):
    title = forms.CharField(label=gettext_lazy("Name"), max_length=120)
    plain = forms.CharField(
        label=gettext_lazy("Plain words, for caregivers (optional)"), required=False, max_length=200
    )
    skills = forms.MultipleChoiceField(
        label=gettext_lazy("Skills asked of these helpers"), required=False, widget=forms.CheckboxSelectMultiple
    )

    def __init__(self, *args: Any, skills: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["skills"].choices = skills


class EditSet(RulesFormView):
    form_class = SetForm
    title = gettext_lazy("A set of skills")

    @cached_property
    def set_(self) -> dict[str, Any]:
        code = self.kwargs.get("code")
        if code is None:
            return {"skills": []}
        try:
            return dict(self.draft.body["sets"][code])
        except KeyError:
            raise Http404 from None

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "skills": skill_titles(self)}

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), **self.set_}

    def become(self, form: SetForm) -> dict[str, Any]:
        sets = dict(self.draft.body["sets"])
        code = self.kwargs.get("code") or code_from(form.cleaned_data["title"], sets)
        said = {key: form.cleaned_data[key] for key in ("title", "plain", "skills")}
        made = {**self.set_, **said}
        if not said["skills"] and (used := list(uses_of_set(self.draft.body, code))):
            form.add_error("skills", _("“%(way)s” asks for people who hold this set, and nobody can hold an empty one.")
                           % {"way": used[0]})  # fmt: skip
        sets[code] = {key: value for key, value in made.items() if key != "plain" or value}
        return {**self.draft.body, "sets": sets}

    def without(self) -> dict[str, Any]:
        code = self.kwargs["code"]
        used = list(uses_of_set(self.draft.body, code))
        if used:
            raise RefusedError([Problem(_("Team"), _("“%(way)s” asks for this set") % {"way": way}) for way in used])
        return {**self.draft.body, "sets": {k: v for k, v in self.draft.body["sets"].items() if k != code}}


def uses_of_set(body: dict[str, Any], code: str) -> list[str]:
    """The ways to meet the team rule that ask for a set."""
    return [way["name"] for way in body["team"] if any(p["set"] == code for p in way["people"])]


# Team -----------------------------------------------------------------------------------------------------


class PeopleForm(forms.Form):
    count = forms.IntegerField(label=gettext_lazy("How many"), required=False, min_value=1, max_value=100)
    set = forms.ChoiceField(label=gettext_lazy("holding"), required=False)
    minimum_age = forms.IntegerField(
        label=gettext_lazy("At least so old (optional)"), required=False, min_value=0, max_value=150
    )

    def __init__(self, *args: Any, sets: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.sets = sets
        self.fields["set"].choices = [("", _("Choose")), *((code, s["title"]) for code, s in sets.items())]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if bool(data.get("count")) != bool(data.get("set")) and not self.errors:
            self.add_error("set" if data.get("count") else "count", _("Say how many people, and which set they hold."))
        elif data.get("set") and not self.sets[data["set"]]["skills"]:
            self.add_error("set", _("This set has no skill, so nobody can hold it."))
        return data

    def people(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {key: data[key] for key in ("set", "count", "minimum_age") if data.get(key) is not None}


class WayForm(DraftForm):
    name = forms.CharField(label=gettext_lazy("Name, such as “two trained adults”"), max_length=120)
    patient_alone = forms.BooleanField(label=gettext_lazy("The patient alone may be all of it"), required=False)
    source = long_words(gettext_lazy("Source (optional)"))

    def __init__(self, *args: Any, way: dict[str, Any], sets: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = formset_factory(PeopleForm, extra=1 if way.get("people") else 2, max_num=10, absolute_max=10)
        data = self.data if self.is_bound else None
        initial = [dict(p) for p in way.get("people", ())]
        self.rows: BaseFormSet = rows(data, initial=initial, prefix="people", form_kwargs={"sets": sets})

    def is_valid(self) -> bool:
        return all([super().is_valid(), self.rows.is_valid()])


class EditWay(RulesFormView):
    """One way to meet the team rule."""

    form_class = WayForm
    template_name = "curriculum/way.html"
    title = gettext_lazy("A way to meet the team rule")
    lead = gettext_lazy(
        "All of these people are needed; each counts once. A family meets the team rule by any one way."
    )

    @cached_property
    def way(self) -> dict[str, Any]:
        if self.is_new:
            return {"people": []}
        try:
            return dict(self.draft.body["team"][self.kwargs["place"]])
        except IndexError:
            raise Http404 from None

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "way": self.way, "sets": self.draft.body["sets"]}

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), **{k: v for k, v in self.way.items() if k != "people"}}

    def become(self, form: WayForm) -> dict[str, Any]:
        people = [row.people() for row in form.rows if row.cleaned_data.get("set")]
        if not people:
            form.add_error(None, _("Nobody is asked for: say how many people, and which set they hold."))
        data = form.cleaned_data
        said = {
            "name": data["name"],
            "people": people,
            "patient_alone": data["patient_alone"],
            "source": data["source"],
        }
        kept = {key: value for key, value in self.way.items() if key not in said}
        made = {**kept, **{key: value for key, value in said.items() if value}}
        team = list(self.draft.body["team"])
        if self.is_new:
            team.append(made)
        else:
            team[self.kwargs["place"]] = made
        return {**self.draft.body, "team": team}

    def without(self) -> dict[str, Any]:
        team = list(self.draft.body["team"])
        if len(team) == 1:
            raise RefusedError([Problem(_("Team"), _("this is the only way; without one no family could be ready"))])
        team.pop(self.kwargs["place"])
        return {**self.draft.body, "team": team}


# Items ----------------------------------------------------------------------------------------------------


class ItemForm(DraftForm):
    title = forms.CharField(label=gettext_lazy("What has to be in place"), max_length=120)
    plain = forms.CharField(
        label=gettext_lazy("Plain words, for caregivers (optional)"), required=False, max_length=200
    )
    valid_for = PeriodField(label=gettext_lazy("Done again every (empty: once is enough)"), required=False)
    hours = forms.IntegerField(
        label=gettext_lazy("Hours it is tried before it counts (optional)"),
        required=False,
        min_value=1,
        max_value=MOST_HOURS,
    )
    sizes = forms.MultipleChoiceField(
        label=gettext_lazy("What the care plan states that stands beside it, such as sizes"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    caregiver_may_check = forms.BooleanField(
        label=gettext_lazy("A caregiver may check it too; their check is shown as theirs and never counts"),
        required=False,
    )
    source = long_words(gettext_lazy("Source (optional)"))

    def __init__(self, *args: Any, facts: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sizes"].choices = facts


class EditItem(RulesFormView):
    form_class = ItemForm
    title = gettext_lazy("An item to be in place")

    @cached_property
    def item(self) -> dict[str, Any]:
        return {} if self.is_new else find_in(self.draft.body["items"], self.kwargs["code"])

    def get_form_kwargs(self) -> dict[str, Any]:
        """A retired fact is offered only where the item still names it, so that it can be taken out."""
        named = self.item.get("sizes", ())
        facts = [(code, f["title"]) for code, f in self.words.facts.items() if not f.get("retired") or code in named]
        return {**super().get_form_kwargs(), "facts": facts}

    def get_initial(self) -> dict[str, Any]:
        return {**super().get_initial(), **self.item}

    def become(self, form: ItemForm) -> dict[str, Any]:
        keys = ("title", "plain", "valid_for", "hours", "sizes", "caregiver_may_check", "source")
        said = {key: form.cleaned_data[key] for key in keys}
        items = list(self.draft.body["items"])
        code = self.item.get("code") or code_from(said["title"], [i["code"] for i in items])
        kept = {key: value for key, value in self.item.items() if key not in said}
        made = {"code": code, **kept, **{key: value for key, value in said.items() if value}}
        if self.is_new:
            return {**self.draft.body, "items": [*items, made]}
        return {**self.draft.body, "items": [made if one["code"] == code else one for one in items]}

    def without(self) -> dict[str, Any]:
        return {**self.draft.body, "items": [i for i in self.draft.body["items"] if i["code"] != self.kwargs["code"]]}
