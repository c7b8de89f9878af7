"""One's own account: the password, the second factor, the passkeys, and signing out everywhere."""

from __future__ import annotations

import time
from typing import Any

import segno
from django import forms
from django.contrib import messages
from django.contrib.auth import logout, update_session_auth_hash
from django.contrib.auth.mixins import LoginRequiredMixin
from django.contrib.auth.password_validation import validate_password
from django.db import transaction
from django.db.models import F
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views import View
from django.views.decorators.debug import sensitive_post_parameters
from django.views.generic import FormView, TemplateView

from training.log.coming import own_account
from training.pages.entry import passkeys, second_factor
from training.pages.entry.proof import WRONG_CODE, Proof, code_field
from training.pages.entry.second_factor import has_second_factor, must_enrol
from training.pages.hats import caregiving
from training.pages.views import PLACE, places_of
from training.people.access import memberships
from training.people.models import User

UNPROVED = "new_second_factor"  # the session's word for a secret that was shown and not proved yet
MAY_ADD = "may_add_key_until"
SITE = "Caregiver register"


@method_decorator(sensitive_post_parameters(), name="dispatch")
class OwnAccount(LoginRequiredMixin, View):
    """A page about the account of whoever is signed in, with a place or without one."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.user.is_authenticated:
            show_place(request)
        return super().dispatch(request, *args, **kwargs)


def show_place(request: HttpRequest) -> None:
    """The bar names the place a member works in, as on every other page; a caregiver's leads back to their own page."""
    now = timezone.now()
    found = memberships(request.user, now)
    if found:
        chosen = next((m for m in found if str(m.public_id) == request.session.get(PLACE)), found[0])
        request.membership = chosen
        request.places = places_of(chosen, request)
    elif caregiving(request.user, now):
        request.is_caregiver = True  # what stands at a page's foot is said in their words
        request.places = [(_("Your own page"), reverse("mine"), False)]


class Account(OwnAccount, TemplateView):
    template_name = "registration/account.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        user = self.request.user
        return super().get_context_data(
            has_second_factor=has_second_factor(user),
            codes_left=second_factor.recovery_codes_left(user),
            passkeys=passkeys.passkeys_of(user),
            entries=user.account_entries.select_related("organisation"),
            **kwargs,
        )


class OwnForm(OwnAccount, FormView):
    """A form under which the password is given again."""

    template_name = "registration/own_form.html"
    form_class = Proof
    title: Any
    lead: Any = ""
    button: Any

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(title=self.title, lead=self.lead, button=self.button, **kwargs)

    def done(self, said: str) -> HttpResponse:
        messages.success(self.request, said)
        return redirect("account")


class NewPasswordForm(forms.Form):
    """Two fields for a new password; who mixes it in says whose it is."""

    user: User

    new_password = forms.CharField(
        label=gettext_lazy("New password"),
        strip=False,
        help_text=gettext_lazy("Ten characters or more, and not a common one."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    new_password_again = forms.CharField(
        label=gettext_lazy("New password, again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )

    def clean_new_password(self) -> str:
        password: str = self.cleaned_data["new_password"]
        validate_password(password, self.user)
        return password

    def clean_new_password_again(self) -> str:
        first, again = self.cleaned_data.get("new_password"), self.cleaned_data["new_password_again"]
        if first is not None and first != again:
            raise forms.ValidationError(_("The two passwords differ."))
        return again


class ChangePasswordForm(Proof, NewPasswordForm):
    pass


class ChangePassword(OwnForm):
    form_class = ChangePasswordForm
    title = gettext_lazy("Change your password")
    lead = gettext_lazy("Everywhere else you are signed in, you are signed out.")
    button = gettext_lazy("Change the password")

    def form_valid(self, form: ChangePasswordForm) -> HttpResponse:
        user = form.user
        user.set_password(form.cleaned_data["new_password"])
        with transaction.atomic():
            user.save(update_fields=["password"])
            own_account(user, "password-changed")
        update_session_auth_hash(self.request, user)
        return self.done(_("Your password is changed. Everywhere else you are signed out."))


class SignOutEverywhere(OwnAccount):
    """Ends every session of this account, this one too."""

    @transaction.atomic
    def post(self, request: HttpRequest) -> HttpResponse:
        own_account(request.user, "signed-out-everywhere")
        User.objects.filter(pk=request.user.pk).update(session_round=F("session_round") + 1)
        logout(request)
        messages.success(request, _("You are signed out everywhere."))
        return redirect("sign-in")


# The second factor -----------------------------------------------------------------------------------------


class EnrolForm(Proof):
    one_time_code = code_field(label=gettext_lazy("Code that the app shows now"))
    field_order = ["one_time_code", "password"]


class SecondFactor(OwnForm):
    """Shows a new secret to an app, and keeps it once a code proves that the app has it."""

    template_name = "registration/enrol.html"
    form_class = EnrolForm
    title = gettext_lazy("Set up a second factor")
    button = gettext_lazy("Turn it on")

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return redirect("account") if has_second_factor(request.user) else super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return redirect("account") if has_second_factor(request.user) else super().post(request, *args, **kwargs)

    @property
    def secret(self) -> str:
        return str(self.request.session.setdefault(UNPROVED, second_factor.new_secret()))

    @transaction.atomic
    def form_valid(self, form: EnrolForm) -> HttpResponse:
        codes = second_factor.turn_on(form.user, secret=self.secret, code=form.cleaned_data["one_time_code"])
        if codes is None:
            form.add_error("one_time_code", WRONG_CODE)
            return self.form_invalid(form)
        own_account(form.user, "second-factor-on")
        del self.request.session[UNPROVED]
        return show_codes(self.request, codes)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        address = second_factor.app_address(self.secret, name=self.request.user.username, site=SITE)
        membership = getattr(self.request, "membership", None)
        return super().get_context_data(
            picture=segno.make(address, error="m").svg_data_uri(scale=5, border=4, dark="#000", light="#fff"),
            secret=[self.secret[at : at + 4] for at in range(0, len(self.secret), 4)],
            is_required=membership is not None and must_enrol(self.request.user, membership.organisation),
            **kwargs,
        )


def show_codes(request: HttpRequest, codes: list[str]) -> HttpResponse:
    """The recovery codes, this once: only their digests are kept."""
    return render(request, "registration/recovery_codes.html", {"codes": codes})


class WithSecondFactor(OwnForm):
    """A form for somebody who has a second factor; others are led to their account."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if request.user.is_authenticated and not has_second_factor(request.user):
            return redirect("account")
        return super().dispatch(request, *args, **kwargs)


class NewRecoveryCodes(WithSecondFactor):
    title = gettext_lazy("New recovery codes")
    lead = gettext_lazy("Those you have are void from then on.")
    button = gettext_lazy("Show ten new codes")

    @transaction.atomic
    def form_valid(self, form: Proof) -> HttpResponse:
        own_account(form.user, "recovery-codes-new")
        return show_codes(self.request, second_factor.new_recovery_codes(form.user))


class SecondFactorOff(WithSecondFactor):
    title = gettext_lazy("Take the second factor off")
    lead = gettext_lazy("The app, the recovery codes and the passkeys stop working for this account.")
    button = gettext_lazy("Take it off")

    @transaction.atomic
    def form_valid(self, form: Proof) -> HttpResponse:
        second_factor.turn_off(form.user)
        own_account(form.user, "second-factor-off")
        return self.done(_("The second factor is off."))


# Passkeys --------------------------------------------------------------------------------------------------


class PasskeyForm(Proof):
    name = forms.CharField(
        label=gettext_lazy("What to call it"), max_length=60, help_text=gettext_lazy("Such as: my phone.")
    )
    field_order = ["name", "password"]


class NewPasskey(WithSecondFactor):
    """First the password and the code, then the browser makes the key."""

    form_class = PasskeyForm
    title = gettext_lazy("Add a passkey")
    lead = gettext_lazy("Your phone, computer or key then stands in for the code when you sign in.")
    button = gettext_lazy("Go on")

    def form_valid(self, form: PasskeyForm) -> HttpResponse:
        if len(passkeys.passkeys_of(form.user)) >= passkeys.MOST:
            form.add_error(None, _("Ten passkeys are the most. Take one off first."))
            return self.form_invalid(form)
        self.request.session[MAY_ADD] = time.time() + 300
        about = {"name": form.cleaned_data["name"], "options": passkeys.offer(form.user)}
        return render(self.request, "registration/passkey.html", about)


class KeepPasskey(OwnAccount):
    """Keeps the key that the browser made, within five minutes of the password."""

    @transaction.atomic
    def post(self, request: HttpRequest) -> HttpResponse:
        may = time.time() < request.session.pop(MAY_ADD, 0) and has_second_factor(request.user)
        name = request.POST.get("name", "").strip()[:60] or _("Passkey")
        if may and passkeys.add(request.user, name=name, answer=request.POST.get("answer", "")):
            own_account(request.user, "passkey-added")
            messages.success(request, _("The passkey is added."))
        else:
            messages.error(request, _("No passkey was added. Begin again."))
        return redirect("account")


class PasskeyOff(OwnAccount):
    @transaction.atomic
    def post(self, request: HttpRequest, passkey: int) -> HttpResponse:
        for one in passkeys.passkeys_of(request.user):
            if one.pk == passkey:
                one.delete()
                own_account(request.user, "passkey-off")
                messages.success(request, _("The passkey is taken off."))
        return redirect("account")
