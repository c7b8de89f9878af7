"""What the drafting views start from: the programme, the draft, and saving a form on the version it was opened on."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.views.generic import FormView

from competency.fields import RefusedError
from training.curriculum import drafting
from training.curriculum.drafting import FACTS, RULES, ChangedByAnotherError
from training.curriculum.models import Programme, ProgrammeDraft
from training.curriculum.stating import is_overtaken
from training.curriculum.words import Words, facts_of
from training.pages.curriculum.fields import DraftForm
from training.pages.views import MemberView
from training.people.access import Right
from training.standing.file import words_in


class WritingView(MemberView):
    """About one programme of this organisation: 404 to a stranger, 403 to a colleague who may not draft."""

    right = Right.DRAFT

    def find(self) -> None:
        _found = self.programme

    @cached_property
    def programme(self) -> Programme:
        rows = Programme.objects.visible_to(self.member).select_related("organisation")
        return get_object_or_404(rows, public_id=self.kwargs["programme"])

    @cached_property
    def words(self) -> Words:
        return words_in(self.programme.pk, self.programme.version)

    @property
    def hub(self) -> str:
        return reverse("writing", args=[self.programme.public_id])

    def page(self, **more: Any) -> dict[str, Any]:
        """What every template of this room needs."""
        return {"programme": self.programme, "words": self.words, "hub": self.hub, **more}


class PartView(WritingView):
    """About the draft of one part: a skill's next edition or, where the address names none, ``part``."""

    part: ClassVar[str] = RULES

    def find(self) -> None:
        _found = self.draft

    @cached_property
    def draft(self) -> ProgrammeDraft:
        rows = self.programme.drafts.select_related("changed_by__user", "programme")
        return get_object_or_404(rows, skill=self.kwargs.get("skill", self.part))

    @property
    def edition(self) -> dict[str, Any]:
        return dict(self.draft.body["edition"])

    @property
    def home(self) -> str:
        """The draft's own page."""
        if not drafting.is_skill(self.draft):
            name = "facts-draft" if self.draft.skill == FACTS else "rules-draft"
            return reverse(name, args=[self.programme.public_id])
        return reverse("edition-draft", args=[self.programme.public_id, self.draft.skill])

    @property
    def part_title(self) -> str:
        return title_of(self.draft)

    @cached_property
    def words(self) -> Words:
        """With the facts as they are drafted: a new one may be used before it is published."""
        drafted = self.programme.drafts.filter(skill=FACTS).first()
        return replace(super().words, facts=facts_of(drafted.body["facts"])) if drafted else super().words

    @property
    def overtaken_by(self) -> int | None:
        """What was published since the draft was begun; None where nothing was."""
        if self.draft.skill == FACTS:
            return 1 if is_overtaken(self.draft) else None
        newest = drafting.newest_of(self.programme, self.draft.skill)
        return newest if newest != self.draft.based_on else None

    def page(self, **more: Any) -> dict[str, Any]:
        is_skill = drafting.is_skill(self.draft)
        said = {
            "part_title": self.part_title,
            "home": self.home,
            "overtaken_by": self.overtaken_by,
            "is_skill": is_skill,
        }
        return super().page(draft=self.draft, **said, **more)

    @property
    def version_sent(self) -> int:
        """The version a button was pressed on; 0, which no draft has, for anything else."""
        sent = self.request.POST.get("version", "")
        return int(sent) if re.fullmatch(r"\d{1,9}", sent, re.ASCII) else 0

    def keep(self, body: Mapping[str, Any], version: int) -> None:
        """Raises ChangedByAnotherError."""
        drafting.save(self.draft, body, version=version, by=self.member, at=self.now)

    def say_changed(self, draft: ProgrammeDraft) -> str:
        """Who else wrote in this draft, and when."""
        at = draft.changed_at.astimezone(ZoneInfo(self.programme.organisation.time_zone))
        return _("%(who)s changed this draft at %(time)s, after you opened this page.") % {
            "who": draft.changed_by.signed_name,
            "time": at.strftime("%H:%M"),
        }


class DraftFormView(PartView, FormView):
    """A form on part of a draft. A subclass gives the form and says what the draft's body becomes.

    inside: the path of the draft that the form answers for; problems elsewhere are the draft's page's to show.
    """

    template_name = "curriculum/form.html"
    title: Promise | str
    lead: Promise | str = ""
    button: Promise | str = ""
    saved: Promise | str = ""
    inside: ClassVar[str] = ""

    def get_initial(self) -> dict[str, Any]:
        return {"version": self.draft.version}

    def become(self, form: DraftForm) -> dict[str, Any]:
        """The draft's body with what was typed in it. May raise RefusedError."""
        raise NotImplementedError

    def form_valid(self, form: DraftForm) -> HttpResponse:
        try:
            body = self.become(form)
            if form.errors:
                return self.form_invalid(form)
            self.keep(body, form.cleaned_data["version"])
        except RefusedError as refusal:
            form.refuse(refusal.problems, self.inside)
            return self.form_invalid(form)
        except ChangedByAnotherError as error:
            return self.changed_meanwhile(form, error.draft)
        if self.saved:
            messages.success(self.request, str(self.saved))
        return redirect(self.after(form))

    def after(self, form: DraftForm) -> str:
        return self.home

    def changed_meanwhile(self, form: DraftForm, draft: ProgrammeDraft) -> HttpResponse:
        """What was typed stays, on the version that is there now; sending it again puts it in place."""
        data = self.request.POST.copy()
        data["version"] = str(draft.version)
        kwargs = {**self.get_form_kwargs(), "data": data}
        again = type(form)(**kwargs)
        again.full_clean()
        said = _("Nothing was saved. What you typed is still here: look at the draft as it is now, or save again.")
        again.add_error(None, f"{self.say_changed(draft)} {said}")
        self.draft = draft
        return self.form_invalid(again)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        said = {"title": self.title, "lead": self.lead, "button": self.button or _("Save in the draft")}
        return super().get_context_data(**self.page(**said), **kwargs)


def title_of(draft: ProgrammeDraft) -> str:
    """The part of the programme that a draft is of."""
    if drafting.is_skill(draft):
        return str(draft.body["words"]["title"])
    return _("Facts, notice and checks") if draft.skill == FACTS else _("Sets, team and items")


def find_in(rows: list[dict[str, Any]], code: str) -> dict[str, Any]:
    """The one of this code; 404 where there is none."""
    for row in rows:
        if row["code"] == code:
            return row
    raise Http404
