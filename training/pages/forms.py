"""What the forms share: the intent that makes a post one deed, the password that signs, the words of a refusal."""

from __future__ import annotations

import uuid
from typing import Any

from crispy_forms.helper import FormHelper
from django import forms
from django.utils.translation import gettext_lazy as _

from competency.fields import RefusedError
from training.pages.entry.proof import Proof
from training.people.models import User

NOBODY_SIGNS = _("This account is used by several people, so nobody can sign with it. Sign in with your own account.")


class DeedForm(forms.Form):
    """A form that becomes one record. ``intent`` is made when the form is first shown and comes back with the post."""

    intent = forms.UUIDField(widget=forms.HiddenInput, required=True)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        kwargs["initial"] = {"intent": uuid.uuid4(), **(kwargs.get("initial") or {})}
        super().__init__(*args, **kwargs)

    @property
    def helper(self) -> FormHelper:
        helper = FormHelper()
        helper.form_tag = False
        helper.disable_csrf = True
        return helper

    def refuse(self, refusal: RefusedError, fields: dict[str, str] | None = None) -> None:
        """Put each problem at the field it names; ``fields`` maps a record's keys to other field names.

        What names no field of this form stands above the form.
        """
        for problem in refusal.problems:
            key = problem.path.split(".")[0].split("[")[0]
            name = (fields or {}).get(key, key)
            if name in self.fields:
                self.add_error(name, problem.message[:1].upper() + problem.message[1:] + ".")
            else:
                self.add_error(None, f"{problem.path}: {problem.message}.")


class SignedForm(Proof, DeedForm):
    """A deed signed with the password, and the code where there is one. Both are checked before any transaction."""

    wrong_password = _("That is not your password. Nothing was signed; what you typed is still here.")

    password = forms.CharField(
        label=_("Your password, to sign"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, user=user, **kwargs)
        if user.is_role_account:
            self.fields["password"].help_text = NOBODY_SIGNS

    def clean_password(self) -> str:
        if self.user.is_role_account:
            raise forms.ValidationError(NOBODY_SIGNS)
        return super().clean_password()
