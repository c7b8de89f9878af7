"""Caregivers: who they are, from when, and which sets were agreed. How they get in is in `access`."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.pages.setup.deed import DeedView
from training.pages.setup.fields import DayField, EntryForm
from training.people.access import Right
from training.people.models import Caregiver
from training.records.models import Record
from training.standing import deeds

# The same whoever asks and whatever is there: nobody learns here whether somebody has an account.
CANNOT_BE_USED = gettext_lazy(
    "This name cannot be used here. Write it as they sign in, choose another with a first password, or leave it out."
)


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
        intent = data["intent"]
        data.pop("password")
        deeds.write_caregiver(family=self.family, by=self.member, at=self.now, caregiver=self.changed, **data)
        return Record.objects.of_chain(self.family.public_id).get(intent=intent)

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
