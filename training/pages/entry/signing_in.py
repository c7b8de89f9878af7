"""Signing in: the name and the password, then the code or a passkey where there is a second factor."""

from __future__ import annotations

import time
from typing import Any

from django import forms
from django.contrib.auth import login
from django.contrib.auth import views as auth_views
from django.contrib.auth.forms import AuthenticationForm
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.decorators import method_decorator
from django.utils.translation import gettext_lazy
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.generic import FormView

from training.pages.entry import gate, passkeys, proof
from training.pages.entry.lock import address_of
from training.pages.entry.second_factor import has_second_factor
from training.people.models import User

HALF = "half_signed_in"  # the session's word for somebody whose password was right and whose code is still asked for
HALF_LASTS = 10 * 60
BACKEND = "django.contrib.auth.backends.ModelBackend"


def locked_page(request: HttpRequest, locked: gate.LockedOutError) -> HttpResponse:
    answer = render(request, "registration/locked.html", {"minutes": locked.minutes}, status=429)
    answer["Retry-After"] = str(locked.minutes * 60)
    return answer


class SignInForm(AuthenticationForm):
    """The same answer for a name that does not exist, a wrong password and a closed account."""

    error_messages = {
        "invalid_login": gettext_lazy("The user name or the password is not right. Look at both again."),
        "inactive": gettext_lazy("The user name or the password is not right. Look at both again."),
    }

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("username") and data.get("password"):
            self.user_cache = gate.known(
                username=data["username"], password=data["password"], address=address_of(self.request)
            )
            if self.user_cache is None:
                raise self.get_invalid_login_error()
        return data


class SignIn(auth_views.LoginView):
    template_name = "registration/sign_in.html"
    form_class = SignInForm
    redirect_authenticated_user = True

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return super().post(request, *args, **kwargs)
        except gate.LockedOutError as locked:
            return locked_page(request, locked)

    def form_valid(self, form: SignInForm) -> HttpResponse:
        user = form.get_user()
        if not has_second_factor(user):
            login(self.request, user, backend=BACKEND)
            return redirect(self.get_success_url())
        self.request.session.cycle_key()
        self.request.session[HALF] = {
            "user": user.pk,
            "hash": user.get_session_auth_hash(),
            "at": time.time(),
            "next": self.get_redirect_url(),
        }
        return redirect("sign-in-code")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(was_over="over" in self.request.GET, **kwargs)


def half_signed_in(half: dict[str, Any]) -> User | None:
    """Whose password was right just now; nobody, once it was changed or the account closed."""
    if not 0 <= time.time() - half.get("at", 0) < HALF_LASTS:
        return None
    user = User.objects.filter(pk=half["user"], is_active=True).first()
    return user if user is not None and user.get_session_auth_hash() == half["hash"] else None


class CodeForm(forms.Form):
    """The second half of signing in."""

    second_factor = proof.code_field(label=gettext_lazy("Code from your app, or a recovery code"))

    def __init__(self, *args: Any, user: User, address: str | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user, self.address = user, address
        self.fields["second_factor"].widget.attrs["autofocus"] = True

    def clean_second_factor(self) -> str:
        proof.spend(self.user, self.cleaned_data["second_factor"], self.address)
        return ""


@method_decorator([sensitive_post_parameters(), never_cache], name="dispatch")
class SignInCode(FormView):
    """Asks for the code, or for a passkey. Who has not given the password in the last ten minutes starts again."""

    template_name = "registration/sign_in_code.html"
    form_class = CodeForm

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        half = request.session.get(HALF, {})
        self.user = half_signed_in(half)
        if self.user is None:
            return redirect("sign-in")
        self.next = half["next"]
        try:
            gate.check_open(username=self.user.username, address=address_of(request))
            return super().dispatch(request, *args, **kwargs)
        except gate.LockedOutError as locked:
            return locked_page(request, locked)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        answer = request.POST.get("answer", "")
        if not answer:
            return super().post(request, *args, **kwargs)
        if passkeys.fits(self.user, answer):
            return self.enter()
        gate.count_wrong(username=self.user.username, address=address_of(request))
        form = self.form_class(user=self.user, address=address_of(request))
        return self.render_to_response(self.get_context_data(form=form, wrong_key=True))

    def form_valid(self, form: CodeForm) -> HttpResponse:
        return self.enter()

    def enter(self) -> HttpResponse:
        self.request.session.pop(HALF, None)
        login(self.request, self.user, backend=BACKEND)
        return redirect(self.next or "home")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.user, "address": address_of(self.request)}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(options=passkeys.ask(self.user), **kwargs)


class SignOut(auth_views.LogoutView):
    """By a posted button only; the session and what it held are gone, and the pages the browser kept.

    Not its storage: on a shared device a nurse's drafts that are not sent yet are in there.
    """

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        answer = super().dispatch(request, *args, **kwargs)
        answer["Clear-Site-Data"] = '"cache"'
        return answer
