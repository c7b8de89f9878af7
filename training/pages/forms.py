"""What the forms share: the intent that makes a post one deed, the password that signs, the words of a refusal."""

from __future__ import annotations

import uuid
from typing import Any

from crispy_forms.helper import FormHelper
from django import forms
from django.utils.translation import gettext_lazy as _

from competency.fields import RefusedError
from training.people.models import User


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


class SignedForm(DeedForm):
    """A deed signed with the password. It is checked here, before any transaction starts."""

    password = forms.CharField(
        label=_("Your password, to sign"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        self.order_fields([*(name for name in self.fields if name != "password"), "password"])

    def clean_password(self) -> str:
        password = self.cleaned_data["password"]
        if not self.user.check_password(password):
            raise forms.ValidationError(
                _("That is not your password. Nothing was signed; what you typed is still here.")
            )
        return ""
