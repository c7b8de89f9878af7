"""What an administrator may do to a member's account: lift a lock, give a link for a new password, close it, open it.

A place here is not the account: who has another place too, in an organisation or a family, keeps the account, and only
its place here ends. Otherwise an administrator could enter another organisation's files, or shut somebody out of them.
"""

from __future__ import annotations

from datetime import datetime
from typing import Any

import segno
from django import forms
from django.contrib import messages
from django.db import transaction
from django.db.models import F, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.debug import sensitive_post_parameters

from training.pages.entry import gate, second_factor
from training.pages.entry.lock import locked_until
from training.pages.entry.proof import Proof
from training.pages.entry.reset import link_for
from training.pages.setup.members import MemberPage
from training.people.models import AccountEntry, Caregiver, Member, User
from training.tenancy.scope import as_account

What = AccountEntry.What
BUTTONS = {
    What.UNLOCKED: gettext_lazy("Lift the lock"),
    What.RESET: gettext_lazy("Give a link for a new password"),
    What.SECOND_FACTOR: gettext_lazy("Take the second factor off"),
    What.CLOSED: gettext_lazy("Close the account"),
    What.REOPENED: gettext_lazy("Open the account again"),
}
ENDS_SESSIONS = frozenset({What.SECOND_FACTOR, What.CLOSED})


def has_another_place(member: Member, now: datetime) -> bool:
    """Whether the account is more than this place: another organisation's member, or a caregiver, now or later."""
    today = member.today(now)
    not_over = Q(through=None) | Q(through__gte=today)
    with as_account(member.user_id):  # the database shows an administrator nothing of their other places
        others = Member.objects.filter(not_over, user=member.user_id).exclude(pk=member.pk)
        return others.exists() or Caregiver.objects.filter(not_over, user=member.user_id).exists()


def possible(member: Member, *, by: Member, now: datetime) -> list[str]:
    """What may be done to this member's account now."""
    user = member.user
    if by.user_id == user.pk:
        return []
    lock = [What.UNLOCKED] if locked_until(user.username) else []
    if has_another_place(member, now):
        return lock
    if not user.is_active:
        return [*lock, What.REOPENED]
    factor = [What.SECOND_FACTOR] if second_factor.has_second_factor(user) else []
    return [*lock, What.RESET, *factor, What.CLOSED]


@transaction.atomic
def do(what: str, *, member: Member, by: Member, because: str, at: datetime) -> None:
    """Do it, end the sessions where it must, and write down who did it and why."""
    user = member.user
    if what == What.UNLOCKED:
        gate.forget_wrong(username=user.username)
    elif what == What.SECOND_FACTOR:
        second_factor.turn_off(user)
    elif what in (What.CLOSED, What.REOPENED):
        User.objects.filter(pk=user.pk).update(is_active=what == What.REOPENED)
    if what in ENDS_SESSIONS:
        User.objects.filter(pk=user.pk).update(session_round=F("session_round") + 1)
    AccountEntry.objects.create(
        user=user, organisation=by.organisation, what=what, because=because, by_name=by.signed_name, at=at
    )


class AccountForm(Proof):
    because = forms.CharField(
        label=gettext_lazy("Why"),
        max_length=300,
        help_text=gettext_lazy("It stands on this page and on theirs, with your name."),
    )
    field_order = ["because", "password"]


@method_decorator(sensitive_post_parameters(), name="dispatch")
class MemberAccount(MemberPage):
    form_class = AccountForm
    template_name = "setup/account.html"

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def form_valid(self, form: AccountForm) -> HttpResponse:
        what = self.request.POST.get("what", "")
        if what not in possible(self.other, by=self.member, now=self.now):
            form.add_error(None, _("This cannot be done now. Look at the page again."))
            return self.form_invalid(form)
        do(what, member=self.other, by=self.member, because=form.cleaned_data["because"], at=self.now)
        if what == What.RESET:
            return show_link(self.request, self.other)
        said = {"name": self.other.signed_name, "what": What(what).label}
        messages.success(self.request, _("%(name)s: %(what)s.") % said)
        return redirect("member-account", member=self.other.public_id)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        user = self.other.user
        offered = possible(self.other, by=self.member, now=self.now)
        return super().get_context_data(
            other=self.other,
            acts=[(what, BUTTONS[what], what == What.CLOSED) for what in offered],
            is_own=user.pk == self.member.user_id,
            is_elsewhere=has_another_place(self.other, self.now),
            is_locked=locked_until(user.username) is not None,
            has_second_factor=second_factor.has_second_factor(user),
            entries=user.account_entries.filter(organisation=self.member.organisation_id).select_related(
                "organisation"
            ),
            **kwargs,
        )


def show_link(request: HttpRequest, member: Member) -> HttpResponse:
    """The link, this once."""
    link = link_for(member.user, request)
    picture = segno.make(link, error="m").svg_data_uri(scale=4, border=4, dark="#000", light="#fff")
    return render(request, "setup/reset_link.html", {"other": member, "link": link, "picture": picture})


class RequireForm(Proof):
    required = forms.BooleanField(label=gettext_lazy("Every member needs a second factor"), required=False)
    field_order = ["required", "password"]


@method_decorator(sensitive_post_parameters(), name="dispatch")
class RequireSecondFactor(MemberPage):
    """Whether members are led to set one up before anything else. Caregivers never are."""

    form_class = RequireForm
    template_name = "setup/second_factor_required.html"

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def get_initial(self) -> dict[str, Any]:
        return {"required": self.member.organisation.second_factor_required}

    def form_valid(self, form: RequireForm) -> HttpResponse:
        organisation = self.member.organisation
        organisation.second_factor_required = form.cleaned_data["required"]
        organisation.save(update_fields=["second_factor_required"])
        messages.success(self.request, _("Saved."))
        return redirect("members")
