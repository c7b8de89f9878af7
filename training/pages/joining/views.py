"""From the code on paper to an account, in three short pages. Every page asks anew whether the invitation is open.

The code travels in a posted form, never in an address: the code in the picture stands behind a "#", which browsers
send to nobody. After it was typed the session holds which invitation it was, not the code.
"""

from __future__ import annotations

import uuid
from datetime import datetime, timedelta
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.contrib.auth import login
from django.db import IntegrityError
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views import View
from django.views.generic import FormView

from training.invitations import deeds
from training.invitations.models import Invitation
from training.invitations.tries import TooManyTriesError
from training.pages.entry.lock import address_of
from training.pages.hats import PLACE
from training.pages.joining.forms import CodeForm, HaveAccountForm, NewAccountForm, PersonForm
from training.people.models import Caregiver, User

JOINING = "joining"  # the session's word for the invitation whose code was typed
TIME_TO_JOIN = timedelta(minutes=30)


class JoinView(View):
    """The clock is read here, once."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.now = timezone.now()
        try:
            answer = super().dispatch(request, *args, **kwargs)
        except TooManyTriesError:
            answer = render(request, "joining/wait.html", status=429)
        answer["Cache-Control"] = "private, no-store"
        answer["Referrer-Policy"] = "same-origin"
        return answer


class TypeCode(JoinView, FormView):
    template_name = "joining/code.html"
    form_class = CodeForm

    def form_valid(self, form: CodeForm) -> HttpResponse:
        try:
            found = deeds.look_up(form.cleaned_data["code"], address=address_of(self.request), now=self.now)
        except deeds.NoSuchCodeError:
            form.add_error(
                "code", _("This code does not work. Look at each letter. If it is right, ask for a new one.")
            )
            return self.form_invalid(form)
        if self.request.user.is_authenticated:
            return render(self.request, "joining/signed_in.html", {"initial": initial_of(found.caregiver)})
        self.request.session.cycle_key()
        self.request.session[JOINING] = {"id": str(found.public_id), "typed": self.now.isoformat(), "known": False}
        return redirect("join-you")


def initial_of(caregiver: Caregiver) -> str:
    """All that a stranger to an invitation reads of whom it is for."""
    return caregiver.called[:1].upper()


class StepView(JoinView, FormView):
    """A page after the code. known: whether the person has said who they are, as this page needs it."""

    known = True

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.now = timezone.now()
        if request.user.is_authenticated:
            return redirect("home")
        if self.invitation is None or (self.known and not request.session[JOINING]["known"]):
            return redirect("join")
        return super().dispatch(request, *args, **kwargs)

    @cached_property
    def invitation(self) -> Invitation | None:
        held = self.request.session.get(JOINING)
        if not held or self.now - datetime.fromisoformat(held["typed"]) > TIME_TO_JOIN:
            return None
        return deeds.still_open(uuid.UUID(held["id"]), self.now)

    @property
    def caregiver(self) -> Caregiver:
        if self.invitation is None:
            raise deeds.NoSuchCodeError
        return self.invitation.caregiver

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        names = {"initial": initial_of(self.caregiver)}
        if self.request.session[JOINING]["known"]:
            names |= {"caregiver": self.caregiver, "who": self.caregiver.family.patient_called}
        return super().get_context_data(**kwargs | names)

    def use(self, form: Any, account: Any) -> Caregiver | None:
        """Close the invitation with this account; None where it could not be, which stands at the form."""
        try:
            return deeds.use(uuid.UUID(self.request.session[JOINING]["id"]), account=account, now=self.now)
        except deeds.NoSuchCodeError:
            form.add_error(None, _("This code has just been used. If it was you, sign in."))
        except deeds.NotThisAccountError:
            form.add_error(None, _("This account belongs to another person in this family. Your code still works."))
        except IntegrityError:
            form.add_error("username", _("Somebody has this user name already. Choose another one."))
        return None


class WhoYouAre(StepView):
    """A paper can be lost: who finds it does not know the name and the birth date."""

    known = False
    template_name = "joining/you.html"
    form_class = PersonForm

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "caregiver": self.caregiver}

    def form_valid(self, form: PersonForm) -> HttpResponse:
        said = {"name": form.cleaned_data["name"], "born": form.cleaned_data.get("born")}
        try:
            deeds.check_person(self.invitation, **said, address=address_of(self.request), now=self.now)
        except deeds.NotThisPersonError:
            form.add_error(None, _("That is not what your nurse wrote down. Try again, or ask your nurse to look."))
            return self.form_invalid(form)
        self.request.session[JOINING] = {**self.request.session[JOINING], "known": True}
        return redirect("join-new")


class NewAccount(StepView):
    template_name = "joining/new.html"
    form_class = NewAccountForm

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "caregiver": self.caregiver}

    def form_valid(self, form: NewAccountForm) -> HttpResponse:
        account = form.account()
        account.set_password(form.cleaned_data["password"])  # slow on purpose, so before the transaction

        def made(_caregiver: Caregiver) -> User:
            account.save()
            return account

        caregiver = self.use(form, made)
        if caregiver is None:
            return self.form_invalid(form)
        login(self.request, caregiver.user, backend="django.contrib.auth.backends.ModelBackend")
        self.request.session.pop(JOINING, None)
        self.request.session[PLACE] = str(caregiver.public_id)
        messages.success(self.request, _("This is your page, %(name)s. Welcome.") % {"name": caregiver.called})
        return redirect("home")


class HaveAccount(StepView):
    """Somebody who signs in here already, for another family or as staff. They sign in by the front door afterwards,
    where a second factor is asked for too.
    """

    template_name = "joining/have.html"
    form_class = HaveAccountForm

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "request": self.request}

    def form_valid(self, form: HaveAccountForm) -> HttpResponse:
        caregiver = self.use(form, lambda _caregiver: form.user)
        if caregiver is None:
            return self.form_invalid(form)
        self.request.session.flush()
        messages.success(self.request, _("It is added to your account. Sign in to see it."))
        return redirect("sign-in")
