"""Stating what members may assess, and ending it."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from competency.fields import RefusedError
from training.pages.forms import SignedForm
from training.pages.setup.fields import EVERY, DayField, in_order, say_optional, words_field
from training.pages.setup.members import MemberPage
from training.pages.setup.statements import Statement, history, skills_of_all
from training.people.access import Right
from training.people.models import Member
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.standing import deeds
from training.standing.questions import written
from training.standing.signing import signed_by


class QualifyForm(SignedForm):
    """For one member, or with ``members`` for as many as are ticked."""

    members = forms.MultipleChoiceField(label=gettext_lazy("Members"), widget=forms.CheckboxSelectMultiple)
    skills = forms.MultipleChoiceField(label=gettext_lazy("May assess"), widget=forms.CheckboxSelectMultiple)
    from_day = DayField(label=gettext_lazy("From"))
    through = DayField(label=gettext_lazy("Last day"), required=False)
    places = {"from": "from_day"}

    def __init__(
        self, *args: Any, members: list[tuple[str, str]] | None, skills: dict[str, str], today: date, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        if members is None:
            del self.fields["members"]
        else:
            self.fields["members"].choices = members
        self.fields["skills"].choices = [(EVERY, _("Every skill, also those published later")), *skills.items()]
        self.initial.setdefault("from_day", today)
        say_optional(self)

    def clean(self) -> dict[str, Any]:
        in_order(self, "from_day", "through")
        return self.cleaned_data

    @property
    def codes(self) -> list[str | None]:
        """None for every skill, which holds the others."""
        chosen = self.cleaned_data["skills"]
        return [None] if EVERY in chosen else list(chosen)


class QualifyingPage(MemberPage):
    """Only for who may administer or decide; a stranger to the member gets 404 first."""

    right = Right.READ

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().post(request, *args, **kwargs)

    def check_allowed(self) -> None:
        self.find_it()
        if not (self.may(Right.ADMINISTER) or self.may(Right.DECIDE)):
            raise PermissionDenied

    def find_it(self) -> None:
        _found = self.other

    def begin_anew(self) -> HttpResponse:
        """The form was signed before with other words, or somebody kept writing: it comes empty, with a new intent."""
        said = _("Nothing was signed now: this form was used before, or somebody wrote at the same time.")
        messages.error(self.request, f"{said} {_('Fill it in anew.')}")
        return redirect(self.request.path)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        signing = signed_by(self.member, kind="qualification", at=self.now)
        return super().get_context_data(signing=signing, is_voidable=True, **kwargs)


class Qualify(QualifyingPage):
    """States what a member may assess; it counts for every family of the organisation."""

    form_class = QualifyForm
    template_name = "setup/qualify.html"
    button = gettext_lazy("Sign the statement")
    lead = gettext_lazy("A demonstration watched by somebody who was not cleared for the skill that day moves nothing.")

    @property
    def choices(self) -> list[tuple[str, str]] | None:
        return None

    def observers(self, form: QualifyForm) -> list[Member]:
        return [self.other]

    def get_form_kwargs(self) -> dict[str, Any]:
        return {
            **super().get_form_kwargs(),
            "user": self.request.user,
            "members": self.choices,
            "skills": skills_of_all(self.member),
            "today": self.member.today(self.now),
        }

    def form_valid(self, form: QualifyForm) -> HttpResponse:
        data = form.cleaned_data
        observers = self.observers(form)
        try:
            deeds.qualify_many(
                observers=observers,
                skills=form.codes,
                from_day=data["from_day"],
                through=data["through"],
                by=self.member,
                intent=data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            form.refuse(refusal, form.places)
            return self.form_invalid(form)
        except (AlreadyRecordedError, ChainMovedError):
            return self.begin_anew()
        messages.success(self.request, self.said(form, observers))
        return redirect("members")

    def said(self, form: QualifyForm, observers: list[Member]) -> str:
        titles = {None: _("Every skill"), **dict(form.fields["skills"].choices)}
        skills = ", ".join(str(titles[code]) for code in form.codes)
        names = "; ".join(o.signed_name for o in observers)
        words = {"names": names, "skills": skills, "day": written(form.cleaned_data["from_day"])}
        return (
            ngettext(
                "%(names)s may assess from %(day)s: %(skills)s.",
                "From %(day)s these may assess %(skills)s: %(names)s.",
                len(observers),
            )
            % words
        )

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(**{**self.about_them(), **kwargs})

    def about_them(self) -> dict[str, Any]:
        found = history(self.member, self.other)
        return {"other": self.other, "heading": self.other.signed_name, "history": found}


class QualifyMany(Qualify):
    """The same statement about several members at once, under one signature."""

    title = gettext_lazy("What several members may assess")

    def find_it(self) -> None:
        """There is nobody to find: who is named comes with the form."""

    @cached_property
    def here(self) -> dict[str, Member]:
        """Whoever has or will have a place here."""
        today = self.member.today(self.now)
        rows = self.member.organisation.members.select_related("user", "organisation")
        return {str(m.public_id): m for m in rows if m.through is None or m.through >= today}

    @property
    def choices(self) -> list[tuple[str, str]]:
        return [(key, f"{m.signed_name}, {m.get_role_display()}") for key, m in self.here.items()]

    def observers(self, form: QualifyForm) -> list[Member]:
        return [self.here[key] for key in form.cleaned_data["members"]]

    def about_them(self) -> dict[str, Any]:
        return {}


class EndForm(SignedForm):
    last_day = DayField(label=gettext_lazy("Last day"), help_text=gettext_lazy("It counts, as do those before it."))
    reason = words_field(gettext_lazy("Reason"))

    def __init__(self, *args: Any, stated: Statement, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stated = stated
        self.initial.setdefault("last_day", today)

    def clean_last_day(self) -> date:
        day: date = self.cleaned_data["last_day"]
        if self.stated.through is not None and day >= self.stated.through:
            raise forms.ValidationError(
                _("It ends on %(day)s already. State a longer one anew.") % {"day": written(self.stated.through)}
            )
        return day


class EndQualification(QualifyingPage):
    """Ends a statement on a day, with a reason; before its first day it never held."""

    form_class = EndForm
    button = gettext_lazy("Sign the last day")
    template_name = "setup/end_qualification.html"

    @cached_property
    def stated(self) -> Statement:
        """The statement in the address; 404 where it is none about this member, or holds no longer."""
        found = next((s for s in history(self.member, self.other) if s.record.number == self.kwargs["number"]), None)
        if found is None or (found.voided is not None and self.request.method != "POST"):
            raise Http404
        return found

    def find_it(self) -> None:
        _found = self.stated

    def get_form_kwargs(self) -> dict[str, Any]:
        asked = {"user": self.request.user, "stated": self.stated, "today": self.member.today(self.now)}
        return {**super().get_form_kwargs(), **asked}

    def form_valid(self, form: EndForm) -> HttpResponse:
        data = form.cleaned_data
        try:
            deeds.end_qualification(
                qualification=self.stated.record,
                last_day=data["last_day"],
                reason=data["reason"],
                by=self.member,
                intent=data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        except (AlreadyRecordedError, ChainMovedError):
            return self.begin_anew()
        words = {"name": self.other.signed_name, "skill": self.stated.title, "day": written(data["last_day"])}
        messages.success(self.request, _("%(name)s may assess through %(day)s: %(skill)s.") % words)
        return redirect(reverse("qualify", args=[self.other.public_id]))

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        heading = _("End what %(name)s may assess") % {"name": self.other.signed_name}
        return super().get_context_data(other=self.other, heading=heading, stated=self.stated, **kwargs)
