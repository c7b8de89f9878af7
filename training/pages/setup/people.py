"""Caregivers: who they are, from when, which sets were agreed, and the account they sign in with."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib.auth.password_validation import validate_password
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.pages.entry import gate
from training.pages.setup.deed import DeedView
from training.pages.setup.fields import DayField, EntryForm
from training.people.access import Right
from training.people.models import Caregiver, User
from training.records.models import Record
from training.standing import deeds


class CaregiverForm(EntryForm):
    full_name = forms.CharField(label=gettext_lazy("Full name"), max_length=200)
    called = forms.CharField(label=gettext_lazy("What to call them"), max_length=80)
    relation = forms.CharField(
        label=gettext_lazy("Who they are to the patient"),
        max_length=80,
        help_text=gettext_lazy("Such as mother, partner, grandfather, or the patient."),
    )
    born = DayField(
        label=gettext_lazy("Birth date"),
        required=False,
        help_text=gettext_lazy("Without it a team rule with a least age is not met by this person."),
    )
    is_patient = forms.BooleanField(label=gettext_lazy("Is the patient"), required=False)
    from_day = DayField(label=gettext_lazy("From"), required=False, help_text=gettext_lazy("Left out: from the start."))
    through = DayField(label=gettext_lazy("Last day"), required=False)
    sets = forms.MultipleChoiceField(
        label=gettext_lazy("Agreed sets"), required=False, widget=forms.CheckboxSelectMultiple
    )
    account = forms.CharField(
        label=gettext_lazy("Account"),
        required=False,
        max_length=254,
        help_text=gettext_lazy("The user name they sign in with, if they have one, to see their own page."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    first_password = forms.CharField(
        label=gettext_lazy("First password, to open a new account"),
        required=False,
        strip=False,
        help_text=gettext_lazy("Leave it out where the account is there already. Hand it over in person."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    places = {
        "name": "full_name",
        "from": "from_day",
        "caregivers": "is_patient",
    }

    def __init__(self, *args: Any, caregiver: Caregiver | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.caregiver = caregiver
        words = self.picture.words
        self.fields["sets"].choices = [(code, set_title(words.sets[code])) for code in words.sets]
        if caregiver is None:
            self.initial["from_day"] = None
            return
        for name in ("full_name", "called", "relation", "born", "is_patient", "from_day", "through", "sets"):
            self.initial[name] = getattr(caregiver, name)
        self.initial["account"] = caregiver.user.username if caregiver.user else ""

    def clean_born(self) -> Any:
        born = self.cleaned_data["born"]
        if born and born > self.picture.day:
            raise forms.ValidationError(_("This day lies ahead."))
        return born

    def clean_is_patient(self) -> bool:
        chosen: bool = self.cleaned_data["is_patient"]
        other = next((c for c in self.picture.file.caregivers if c.is_patient and c != self.caregiver), None)
        if chosen and other is not None:
            raise forms.ValidationError(_("%(name)s is the patient of this file already.") % {"name": other.full_name})
        return chosen

    def clean_account(self) -> User | None:
        """The account of this name; a new one, not saved yet, where a first password comes with it."""
        name = User.normalize_username(self.cleaned_data["account"])
        if not name:
            return None
        user = User.objects.filter(username__iexact=name, is_active=True).first()
        if user is None and not self.data.get("first_password"):
            raise forms.ValidationError(
                _("There is no account of this name. Leave it out, write it as they sign in, or give a first password.")
            )
        if user is None:
            return User(username=name, full_name=self.cleaned_data.get("full_name", name))
        others = (c for c in self.picture.file.caregivers if c != self.caregiver)
        holder = next((c for c in others if c.user_id == user.pk), None)
        if holder is not None:
            raise forms.ValidationError(_("This is the account of %(name)s.") % {"name": holder.full_name})
        return user

    def clean_first_password(self) -> str:
        password: str = self.cleaned_data["first_password"]
        user = self.cleaned_data.get("account")
        if password and user is not None and user.pk is None:
            validate_password(password, user)
        elif password and user is not None and not self.is_theirs(user, password):  # the same post again is welcome
            raise forms.ValidationError(_("The account is there already; its password is not changed here."))
        elif password and "account" not in self.errors:
            raise forms.ValidationError(_("Give the user name too."))
        return password

    def is_theirs(self, user: User, password: str) -> bool:
        """Whether it is the password of that account; tried as at the door, so that nobody guesses it here."""
        try:
            return gate.known(username=user.username, password=password, address=self.address) == user
        except gate.LockedOutError as locked:
            raise forms.ValidationError(str(locked)) from locked


def set_title(words: dict[str, Any]) -> str:
    """A set by its title, with what it means where the programme says so."""
    return f"{words['title']}: {words['plain']}" if words.get("plain") else str(words["title"])


class NewCaregiver(DeedView):
    """A caregiver's words are a signed record; the account they sign in with is not part of it."""

    asks = frozenset({Right.SET_UP})
    kind = "caregiver"
    form_class = CaregiverForm
    title = gettext_lazy("A caregiver")
    lead = gettext_lazy("A sign-off is for this person and this patient, and is never copied to another.")
    button = gettext_lazy("Sign the caregiver")
    done = gettext_lazy("Caregiver entered.")
    from_address = ()

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "caregiver": self.changed}

    @property
    def changed(self) -> Caregiver | None:
        return None

    def write(self, form: CaregiverForm) -> Record:
        data = dict(form.cleaned_data)
        user, intent = data.pop("account"), data["intent"]
        data.pop("password")
        first_password = data.pop("first_password")
        if user is not None and user.pk is None:
            user.set_password(first_password)
        write_caregiver(family=self.family, by=self.member, at=self.now, caregiver=self.changed, user=user, **data)
        return Record.objects.get(intent=intent)

    def said_done(self, made: Record) -> str:
        return _("%(name)s is entered.") % {"name": made.data["name"]}


class EditCaregiver(NewCaregiver):
    title = gettext_lazy("What changed about a caregiver")
    lead = gettext_lazy("What it said before stays in the record. A person who leaves gets a last day.")
    button = gettext_lazy("Sign what changed")

    @property
    def changed(self) -> Caregiver | None:
        return self.caregiver

    def said_done(self, made: Record) -> str:
        return _("%(name)s is changed.") % {"name": made.data["name"]}


@transaction.atomic
def write_caregiver(*, user: User | None, **words: Any) -> Caregiver:
    """Write the record and link the account in one transaction."""
    caregiver = deeds.write_caregiver(**words)
    if user is not None and user.pk is None:
        user.save()
    caregiver.user = user
    caregiver.save(update_fields=["user"])
    return caregiver
