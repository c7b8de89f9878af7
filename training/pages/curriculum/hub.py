"""One programme to write in: what is in force, what is a draft and whose, and where to begin."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from competency.fields import RefusedError
from training.curriculum import drafting
from training.curriculum.drafting import FACTS, RULES, ChangedByAnotherError
from training.curriculum.models import Edition, ProgrammeDraft
from training.curriculum.stating import begin_facts
from training.pages.curriculum.fields import long_words
from training.pages.curriculum.parts import PartView, WritingView
from training.people.access import Right

GROUPS = [
    ("routine", gettext_lazy("Routine")),
    ("emergency", gettext_lazy("Emergency")),
    ("integration", gettext_lazy("Putting it together")),
]


class Hub(WritingView):
    """Every skill with its newest edition and its draft; the sets, team and items likewise."""

    def get(self, request: HttpRequest, programme: Any) -> HttpResponse:
        drafts = {d.skill: d for d in self.programme.drafts.select_related("changed_by__user")}
        newest = {e.skill: e for e in self.programme.editions.order_by("number")}
        rules = self.programme.rule_sets.order_by("in_force_from", "recorded_at").last()
        today = self.member.today(self.now)
        known = [
            _row(code, words.title, newest.get(code), drafts.get(code)) for code, words in self.words.skills.items()
        ]
        added = [
            _row(d.skill, d.body["words"]["title"], None, d)
            for d in drafts.values()
            if drafting.is_skill(d) and d.skill not in self.words.skills
        ]
        page = {
            "skills": [*known, *added],
            "rules": rules,
            "rules_draft": drafts.get(RULES),
            "facts_draft": drafts.get(FACTS),
            "drafts": len(drafts),
            "today": today,
            "may_publish": self.may(Right.PUBLISH),
        }
        return render(request, "curriculum/hub.html", self.page(**page))


def _row(code: str, title: str, newest: Edition | None, draft: ProgrammeDraft | None) -> dict[str, Any]:
    return {"code": code, "title": draft.body["words"]["title"] if draft else title, "newest": newest, "draft": draft}


class Begin(WritingView):
    """Begin the draft of a skill's next edition, or go on with the one that is there."""

    def post(self, request: HttpRequest, programme: Any, skill: str) -> HttpResponse:
        if skill not in self.words.skills:
            raise Http404
        drafting.begin_edition(self.programme, skill, by=self.member, at=self.now)
        return redirect("edition-draft", self.programme.public_id, skill)


class BeginRules(WritingView):
    def post(self, request: HttpRequest, programme: Any) -> HttpResponse:
        drafting.begin_rules(self.programme, by=self.member, at=self.now)
        return redirect("rules-draft", self.programme.public_id)


class BeginFacts(WritingView):
    def post(self, request: HttpRequest, programme: Any) -> HttpResponse:
        begin_facts(self.programme, by=self.member, at=self.now)
        return redirect("facts-draft", self.programme.public_id)


class SkillWordsForm(forms.Form):
    """What a skill is called, why it matters, and its cautions."""

    title = forms.CharField(label=gettext_lazy("Title, for staff"), max_length=120)
    plain = forms.CharField(label=gettext_lazy("Plain name, for caregivers"), max_length=200)
    group = forms.ChoiceField(label=gettext_lazy("Group"), choices=GROUPS)
    why = long_words(gettext_lazy("Why it matters, in one line"), required=True)
    cautions = long_words(
        gettext_lazy("Cautions, one on each line (optional)"),
        rows=4,
        most=4000,
        help_text=gettext_lazy("They stand wherever the steps do. Defer to the prescriber and your policy."),
    )

    def clean_cautions(self) -> list[str]:
        lines = [line.strip() for line in self.cleaned_data["cautions"].splitlines() if line.strip()]
        for line in lines:
            if len(line) > 500:
                raise forms.ValidationError(
                    _("A caution has at most 500 letters; this one has %(n)s.") % {"n": len(line)}
                )
        return lines

    def words(self) -> dict[str, Any]:
        return {key: self.cleaned_data[key] for key in drafting.WORDS if self.cleaned_data.get(key)}


class NewSkill(WritingView, FormView):
    """A skill that the programme does not have yet: a draft until it is published."""

    form_class = SkillWordsForm
    template_name = "curriculum/form.html"

    def form_valid(self, form: SkillWordsForm) -> HttpResponse:
        made = drafting.begin_skill(self.programme, form.words(), by=self.member, at=self.now)
        return redirect("edition-draft", self.programme.public_id, made.skill)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        said = {"title": _("Add a skill"), "home": self.hub, "button": _("Begin its first edition")}
        return super().get_context_data(**self.page(**said), **kwargs)


class Follow(PartView):
    """Go on with a draft although something was published since it was begun: who says so has compared the two."""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            drafting.follow_newest(self.draft, version=self.version_sent, by=self.member, at=self.now)
        except ChangedByAnotherError as error:
            messages.error(request, self.say_changed(error.draft))
        return redirect(self.home)


class ThrowAway(PartView):
    """Throw a draft away: asked once more, since nothing of it is kept."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return render(request, "curriculum/throw_away.html", self.page())

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            drafting.throw_away(self.draft, version=self.version_sent)
        except RefusedError as refusal:
            said = said_problems(refusal.problems)
            return render(request, "curriculum/throw_away.html", self.page(problems=said))
        except ChangedByAnotherError as error:
            self.draft = error.draft
            return render(request, "curriculum/throw_away.html", self.page(problems=[self.say_changed(error.draft)]))
        messages.success(request, _("Draft thrown away: %(title)s.") % {"title": self.part_title})
        return redirect(reverse("writing", args=[self.programme.public_id]))


def said_problems(problems: Iterable[Any]) -> list[str]:
    return [f"{p.path}: {p.message}." if p.path else f"{p.message}." for p in problems]
