"""What is asked of somebody who joins: the code, who they are, and how they will sign in."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.http import HttpRequest
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.pages.entry import gate
from training.pages.entry.lock import address_of
from training.pages.setup.fields import DayField
from training.people.models import Caregiver, User

_NAME = {"autocomplete": "username", "autocapitalize": "none", "spellcheck": "false"}


class CodeForm(forms.Form):
    code = forms.CharField(
        label=gettext_lazy("The code on your paper"),
        max_length=40,
        help_text=gettext_lazy("12 letters and numbers. Big or small letters, with or without the dashes."),
        error_messages={"required": gettext_lazy("Type the code from your paper.")},
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )


class PersonForm(forms.Form):
    name = forms.CharField(
        label=gettext_lazy("Your first name"),
        max_length=200,
        help_text=gettext_lazy("The name your nurse calls you by."),
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    born = DayField(label=gettext_lazy("Your birth date"))

    def __init__(self, *args: Any, caregiver: Caregiver, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if caregiver.born is None:
            del self.fields["born"]


class NewAccountForm(forms.Form):
    username = forms.CharField(
        label=gettext_lazy("Choose a user name"),
        max_length=254,
        help_text=gettext_lazy("You type it each time you sign in. Your e-mail address is fine too."),
        widget=forms.TextInput(attrs=_NAME),
    )
    password = forms.CharField(
        label=gettext_lazy("Choose a password"),
        strip=False,
        max_length=200,
        help_text=gettext_lazy(
            "At least 10 letters, numbers or signs. Three or four words in a row work well. Not your name, and not a "
            "password that many people use."
        ),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password", "data-can-show": ""}, render_value=False),
    )

    def __init__(self, *args: Any, caregiver: Caregiver, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.caregiver = caregiver

    def clean_username(self) -> str:
        name = User.normalize_username(self.cleaned_data["username"])
        if User.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(_("Somebody has this user name already. Choose another one."))
        return name

    def clean_password(self) -> str:
        password: str = self.cleaned_data["password"]
        validate_password(password, self.account())
        return password

    def account(self) -> User:
        """The account as it would be, not saved."""
        return User(username=self.cleaned_data.get("username", ""), full_name=self.caregiver.full_name)


class HaveAccountForm(forms.Form):
    username = forms.CharField(
        label=gettext_lazy("Your user name or e-mail"), max_length=254, widget=forms.TextInput(attrs=_NAME)
    )
    password = forms.CharField(
        label=gettext_lazy("Your password"),
        strip=False,
        max_length=200,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password", "data-can-show": ""}),
    )

    def __init__(self, *args: Any, request: HttpRequest, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.request = request
        self.user: User | None = None

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if "username" in data and "password" in data:
            self.user = self.known(data["username"], data["password"])
            if self.user is None:
                raise forms.ValidationError(_("This user name and this password do not fit together. Try again."))
        return data

    def known(self, username: str, password: str) -> User | None:
        """The account, tried and counted as at the door."""
        try:
            return gate.known(username=username, password=password, address=address_of(self.request))
        except gate.LockedOutError as locked:
            raise forms.ValidationError(str(locked)) from locked
