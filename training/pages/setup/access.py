"""A caregiver's way in: a code on paper, the account that came of it, and taking that account away again."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from typing import Any

import segno
from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from training.invitations import deeds
from training.invitations.models import Invitation
from training.pages.forms import SignedForm
from training.pages.setup.fields import words_field
from training.pages.views import FamilyView, new_intent
from training.people.access import Right
from training.people.models import Caregiver
from training.standing.questions import written


class AccessView(FamilyView):
    """About one caregiver's account. A stranger to the family gets 404 before a colleague gets 403."""

    right = Right.SET_UP

    def find(self) -> None:
        super().find()
        _found = self.caregiver

    @property
    def home(self) -> HttpResponse:
        return redirect("caregiver-access", family=self.family.public_id, caregiver=self.caregiver.public_id)


class Access(AccessView):
    """Whether there is an account, which code is open, and what was before."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        invitations = list(Invitation.objects.visible_to(self.member).filter(caregiver=self.caregiver))
        for one in invitations:
            one.caregiver = self.caregiver  # with its family, to say whether it is open
        page = {
            "family": self.family,
            "caregiver": self.caregiver,
            "is_here": is_staying(self.caregiver, self.today),
            "open": next((one for one in invitations if one.is_open(self.now)), None),
            "past": [self.line(one) for one in invitations if not one.is_open(self.now)],
            "removed": self.caregiver.removed_accounts.all(),
            "intent": new_intent(),
            "home": reverse("family", args=[self.family.public_id]),
            "zone": self.family.zone,
        }
        return render(request, "setup/access.html", page)

    def line(self, one: Invitation) -> dict[str, Any]:
        return {"made_at": one.made_at.astimezone(self.family.zone), "by": one.made_by, "became": self.became(one)}

    def became(self, one: Invitation) -> str:
        if one.used_at:
            return _("used on %(day)s") % {"day": self.written(one.used_at)}
        if one.withdrawn_at:
            said = {"day": self.written(one.withdrawn_at), "name": one.withdrawn_by}
            return _("withdrawn on %(day)s by %(name)s") % said
        return _("never used") if one.expires_at <= self.now else _("no longer leads anywhere")

    def written(self, at: datetime) -> str:
        return written(at.astimezone(self.family.zone).date())


def is_staying(caregiver: Caregiver, today: date) -> bool:
    return caregiver.through is None or today <= caregiver.through


class Invite(AccessView):
    """Make a code and show it this once, to be printed. A reload makes no second one."""

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        try:
            intent = uuid.UUID(request.POST.get("intent", ""))
        except ValueError:
            return HttpResponseBadRequest()
        try:
            made, code = deeds.invite(caregiver=self.caregiver, by=self.member, intent=intent, now=self.now)
        except deeds.NotInvitedError:
            messages.info(request, _("No code was made: there is an account already, or the last day is over."))
            return self.home
        if not code:
            messages.info(request, _("This code was shown already, once. If the paper is lost, make a new one."))
            return self.home
        return render(request, "setup/invitation.html", self.sheet(made, code))

    def sheet(self, made: Invitation, code: str) -> dict[str, Any]:
        address = self.request.build_absolute_uri(reverse("join"))
        return {
            "family": self.family,
            "caregiver": self.caregiver,
            "initial": self.caregiver.called[:1].upper(),
            "code": code,
            "address": address,
            "picture_of": picture_of(f"{address}#{code}"),
            "until": made.expires_at.astimezone(self.family.zone),
            "asks_born": self.caregiver.born is not None,
        }


def picture_of(address: str) -> SafeString:
    """A code for a camera as SVG, dark on white in either scheme; its shapes are segno's own, nothing of anybody's."""
    drawn = segno.make(address, error="m").svg_inline(scale=5, border=4, dark="#000", light="#fff", omitsize=True)
    return mark_safe(drawn)  # noqa: S308 - paths and colours; the address is in it as squares only


class Withdraw(AccessView):
    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if deeds.withdraw(caregiver=self.caregiver, by=self.member, now=self.now):
            messages.success(request, _("The code is withdrawn. It opens nothing any more."))
        return self.home


class RemoveForm(SignedForm):
    reason = words_field(gettext_lazy("Reason"), help_text=gettext_lazy("Staff read it; the caregiver does not."))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["password"].label = _("Your password")


class RemoveAccount(AccessView, FormView):
    """Where the wrong person joined. The caregiver and all that was shown stay; the account leads here no more."""

    form_class = RemoveForm
    template_name = "setup/remove_account.html"

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return super().get(request, *args, **kwargs) if self.caregiver.user_id else self.home

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def form_valid(self, form: forms.Form) -> HttpResponse:
        reason = form.cleaned_data["reason"]
        if deeds.remove_account(caregiver=self.caregiver, reason=reason, by=self.member, now=self.now):
            messages.success(self.request, _("The account is removed. It is out at its next request."))
        return self.home

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        back = reverse("caregiver-access", args=[self.family.public_id, self.caregiver.public_id])
        return super().get_context_data(family=self.family, caregiver=self.caregiver, home=back, **kwargs)
