"""A programme of one's own: a copy of one that is there, or an empty one."""

from __future__ import annotations

from datetime import timedelta
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.core.validators import RegexValidator
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from competency.fields import RefusedError
from training.curriculum.models import Programme
from training.pages.curriculum.fields import long_words
from training.pages.curriculum.parts import WritingView
from training.pages.forms import SignedForm
from training.pages.setup.fields import DayField
from training.pages.views import MemberView
from training.people.access import Right
from training.standing import publishing
from training.standing.signing import signed_by


def _code() -> forms.CharField:
    return forms.CharField(
        label=gettext_lazy("Code"),
        max_length=60,
        help_text=gettext_lazy("Short, for files and commands, such as our-home-care. It cannot be changed later."),
        validators=[
            RegexValidator(
                r"^[a-z][a-z0-9_-]*\Z", gettext_lazy("Small letters, digits, - and _ only, beginning with a letter.")
            )
        ],
    )


class CopyForm(SignedForm):
    title = forms.CharField(label=gettext_lazy("Title"), max_length=120)
    code = _code()
    first_day = DayField(
        label=gettext_lazy("First day"), help_text=gettext_lazy("Tomorrow or later. All skills begin with edition 1.")
    )


class EmptyForm(SignedForm):
    title = forms.CharField(label=gettext_lazy("Title"), max_length=120)
    code = _code()
    notice = long_words(
        gettext_lazy("Notice, shown wherever care steps are"),
        required=True,
        rows=3,
        help_text=gettext_lazy("Say that it defers to the prescriber, your policy, local law and licensed practice."),
    )
    like = forms.ChoiceField(label=gettext_lazy("Care plan facts as in"), required=False)

    def __init__(self, *args: Any, programmes: list[Programme], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["like"].choices = [*((str(p.public_id), p.title) for p in programmes), ("", _("no facts yet"))]


class OwnView(FormView):
    """Signed like every deed; the same post twice is one programme."""

    template_name = "curriculum/own.html"

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def form_valid(self, form: SignedForm) -> HttpResponse:
        try:
            made = self.make(form)
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        messages.success(self.request, _("Made: %(title)s. Change it as your own.") % {"title": made.title})
        return redirect("writing", made.public_id)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        signing = signed_by(self.member, kind="programme", at=self.now)
        return super().get_context_data(signing=signing, **self.said(), **kwargs)


class CopyProgramme(WritingView, OwnView):
    right = Right.PUBLISH
    form_class = CopyForm

    def get_initial(self) -> dict[str, Any]:
        return {"first_day": self.member.today(self.now) + timedelta(days=1)}

    def make(self, form: CopyForm) -> Programme:
        asked = {key: form.cleaned_data[key] for key in ("code", "title", "first_day", "intent")}
        return publishing.copy_programme(programme=self.programme, by=self.member, at=self.now, **asked)

    def said(self) -> dict[str, Any]:
        return {
            "title": _("Copy “%(title)s”") % {"title": self.programme.title},
            "lead": _("Your own programme begins with the newest edition of every skill, and its sets, team and items. "
                      "Families that are here stay with the old one; new families can follow yours. "
                      "Review every step before use."),
            "button": _("Sign and copy it"),
            "part_title": self.programme.title,
            "home": self.hub,
        }  # fmt: skip


class EmptyProgramme(MemberView, OwnView):
    right = Right.PUBLISH
    form_class = EmptyForm

    @cached_property
    def programmes(self) -> list[Programme]:
        return list(Programme.objects.visible_to(self.member))

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "programmes": self.programmes}

    def make(self, form: EmptyForm) -> Programme:
        asked = {key: form.cleaned_data[key] for key in ("code", "title", "notice", "intent")}
        like = next((p for p in self.programmes if str(p.public_id) == form.cleaned_data["like"]), None)
        return publishing.begin_programme(like=like, by=self.member, at=self.now, **asked)

    def said(self) -> dict[str, Any]:
        return {
            "title": _("Begin an empty programme"),
            "lead": _("It has no skills yet; they are written one by one and published together."),
            "button": _("Sign and begin it"),
            "part_title": _("Checklists"),
            "home": reverse("programmes"),
        }
