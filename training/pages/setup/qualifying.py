"""Stating what a member may assess."""

from __future__ import annotations

from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import RefusedError
from training.pages.forms import SignedForm
from training.pages.setup.fields import EVERY, DayField, in_order, say_optional
from training.pages.setup.members import MemberPage
from training.pages.setup.statements import skills_of_all, statements
from training.people.access import Right
from training.standing import deeds
from training.standing.questions import written
from training.standing.signing import signed_by


class QualifyForm(SignedForm):
    skill = forms.ChoiceField(label=gettext_lazy("Skill"))
    from_day = DayField(label=gettext_lazy("From"))
    through = DayField(label=gettext_lazy("Last day"), required=False)
    places = {"from": "from_day"}

    def __init__(self, *args: Any, skills: dict[str, str], today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["skill"].choices = [("", _("Choose")), (EVERY, _("Every skill")), *skills.items()]
        self.initial.setdefault("from_day", today)
        say_optional(self)

    def clean(self) -> dict[str, Any]:
        in_order(self, "from_day", "through")
        return self.cleaned_data


class Qualify(MemberPage):
    """States what a member may assess; it counts for every family of the organisation."""

    right = Right.READ
    form_class = QualifyForm
    template_name = "setup/qualify.html"
    button = gettext_lazy("Sign the statement")
    lead = gettext_lazy("A demonstration watched by somebody who was not cleared for the skill that day moves nothing.")

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().post(request, *args, **kwargs)

    def check_allowed(self) -> None:
        if self.other and not (self.may(Right.ADMINISTER) or self.may(Right.DECIDE)):
            raise PermissionDenied

    def get_form_kwargs(self) -> dict[str, Any]:
        return {
            **super().get_form_kwargs(),
            "user": self.request.user,
            "skills": skills_of_all(self.member),
            "today": self.member.today(self.now),
        }

    def form_valid(self, form: QualifyForm) -> HttpResponse:
        data = form.cleaned_data
        try:
            deeds.qualify(
                observer=self.other,
                skill=None if data["skill"] == EVERY else data["skill"],
                from_day=data["from_day"],
                through=data["through"],
                by=self.member,
                intent=data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            form.refuse(refusal, form.places)
            return self.form_invalid(form)
        title = dict(form.fields["skill"].choices)[data["skill"]]
        words = {"name": self.other.signed_name, "skill": title, "day": written(data["from_day"])}
        messages.success(self.request, _("%(name)s may assess from %(day)s: %(skill)s.") % words)
        return redirect("members")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            other=self.other,
            heading=self.other.signed_name,
            statements=statements(self.member).get(self.other.observer_id, []),
            signing=signed_by(self.member, kind="qualification", at=self.now),
            is_voidable=True,
            **kwargs,
        )
