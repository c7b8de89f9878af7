"""A link to set a new password, which an administrator gives on paper or screen: there is no mail.

It is bound to one account and works once, for a day. It dies when the password changes, when somebody signs in with the
account, when its sessions are ended, and when it is closed; opening it again does not revive it.
"""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.contrib.auth import views as auth_views
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse, reverse_lazy
from django.utils.encoding import force_bytes
from django.utils.http import urlsafe_base64_encode
from django.utils.translation import gettext as _

from training.log.coming import own_account
from training.pages.entry import gate
from training.pages.entry.account import NewPasswordForm
from training.people.models import User


class Links(PasswordResetTokenGenerator):
    key_salt = "training.pages.entry.reset"

    def check_token(self, user: User | None, token: str | None) -> bool:
        return user is not None and user.is_active and super().check_token(user, token)

    def _make_hash_value(self, user: User, timestamp: int) -> str:
        return f"{super()._make_hash_value(user, timestamp)} {user.session_round}"


links = Links()


def link_for(user: User, request: HttpRequest) -> str:
    """The whole address, as it is read off the screen or a QR code."""
    return request.build_absolute_uri(address_for(user))


def address_for(user: User) -> str:
    uid = urlsafe_base64_encode(force_bytes(user.pk))
    return reverse("new-password", args=[uid, links.make_token(user)])


class ResetForm(NewPasswordForm):
    def __init__(self, user: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user

    def save(self) -> User:
        self.user.set_password(self.cleaned_data["new_password"])
        with transaction.atomic():
            self.user.save(update_fields=["password"])
            own_account(self.user, "password-reset")
        return self.user


class NewPassword(auth_views.PasswordResetConfirmView):
    """Whoever holds the link sets the password; a second factor is still asked for at signing in."""

    template_name = "registration/new_password.html"
    form_class = ResetForm
    token_generator = links
    reset_url_token = "now"  # noqa: S105  what stands in the address once the link was opened
    success_url = reverse_lazy("sign-in")

    def form_valid(self, form: ResetForm) -> HttpResponse:
        answer = super().form_valid(form)
        gate.forget_wrong(username=form.user.username)
        messages.success(self.request, _("The new password is set. Sign in with it."))
        return answer

    def render_to_response(self, context: dict[str, Any], **kwargs: Any) -> HttpResponse:
        return super().render_to_response(context, **kwargs, status=200 if context.get("validlink", True) else 410)
