"""Proving again who one is: the password, and the code where there is a second factor, before anything is written."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext_lazy

from training.pages.entry import gate, second_factor
from training.people.models import User

WRONG_CODE = gettext_lazy("That is not the code of now, nor a recovery code. What you typed is still here.")
NO_CODE = gettext_lazy("Your account has a second factor. Write the code that your app shows now.")
USED_ALREADY = gettext_lazy("This code was used already. Wait for the next one, at most half a minute.")


def code_field(**kwargs: Any) -> forms.CharField:
    """A code of the app or a recovery code; a phone's keyboard may fill it in."""
    return forms.CharField(
        max_length=40,
        widget=forms.TextInput(
            attrs={"autocomplete": "one-time-code", "autocapitalize": "none", "spellcheck": "false", "size": 14}
        ),
        **kwargs,
    )


def spend(user: User, code: str, address: str | None) -> None:
    """Use up a code. Raises ValidationError where it is wrong, used or there were too many; a wrong one is counted."""
    try:
        gate.check_open(username=user.username, address=address)
        if second_factor.spend(user, code):
            return
        gate.count_wrong(username=user.username, address=address)
    except gate.LockedOutError as locked:
        raise forms.ValidationError(str(locked)) from locked
    except second_factor.UsedAlreadyError as used:
        raise forms.ValidationError(USED_ALREADY) from used
    raise forms.ValidationError(WRONG_CODE)


PROOFS = ("password", "second_factor")


class Proof(forms.Form):
    """The code is tried last, when all else in the form is right: it works once.

    user: who is signed in; the site notes on them where they ask from (`training.pages.entry.staying`).
    """

    wrong_password = gettext_lazy("That is not your password. What you typed is still here.")

    password = forms.CharField(
        label=gettext_lazy("Your password"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "current-password"}),
    )

    def __init__(self, *args: Any, user: User, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.user = user
        self.address = getattr(user, "asked_from", None)
        self.proves = False
        if second_factor.has_second_factor(user):
            self.fields["second_factor"] = code_field(
                label=gettext_lazy("Code from your app, or a recovery code"), error_messages={"required": NO_CODE}
            )
        self.prove_last()

    @property
    def lacks_only_proof(self) -> bool:
        """Whether nothing is wrong but the password or the code: what was shown to be signed stays on the screen."""
        return bool(self.errors) and set(self.errors) <= set(PROOFS)

    def ask_no_proof(self) -> None:
        """Nothing is signed yet: what would be is only looked at."""
        for name in PROOFS:
            self.fields.pop(name, None)

    def prove_last(self) -> None:
        proofs = [name for name in PROOFS if name in self.fields]
        self.order_fields([*(name for name in self.fields if name not in proofs), *proofs])

    def clean_password(self) -> str:
        try:
            who = gate.known(username=self.user.username, password=self.cleaned_data["password"], address=self.address)
        except gate.LockedOutError as locked:
            raise forms.ValidationError(str(locked)) from locked
        if who is None or who.pk != self.user.pk:
            raise forms.ValidationError(self.wrong_password)
        self.proves = True
        return ""

    def full_clean(self) -> None:
        super().full_clean()
        if not self.proves or self.errors:
            return
        try:
            if "second_factor" in self.fields:
                spend(self.user, self.cleaned_data["second_factor"], self.address)
            gate.forget_wrong(username=self.user.username, address=self.address)
        except forms.ValidationError as error:
            self.add_error("second_factor", error)
