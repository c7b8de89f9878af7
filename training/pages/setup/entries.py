"""Entries: what the prescriber said, what is in place, and the educator's own yes."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from training.pages.setup.deed import DeedView
from training.pages.setup.fields import DayField, EntryForm, iso, words_field
from training.people.access import Right
from training.records.models import Record
from training.standing.kit import items_in_force
from training.standing.questions import signatures_missing, written


class AuthorisationForm(EntryForm):
    skill = forms.ChoiceField(label=_("Skill"))
    prescriber = forms.CharField(
        label=_("Prescriber"), max_length=200, help_text=_("The name as it is written on the order.")
    )
    from_day = DayField(label=_("From"))
    through = DayField(label=_("Last day"), required=False, help_text=_("Left out: until it is voided."))

    def skills(self) -> Iterable[str]:
        skills = self.picture.history.known.programme.skills
        return [code for code, skill in skills.items() if any(e.needs_authorisation for e in skill.editions)]

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "skill": data["skill"],
            "prescriber": data["prescriber"],
            "from": iso(data["from_day"]),
            "through": iso(data["through"]),
        }


class NewAuthorisation(DeedView):
    asks = frozenset({Right.SET_UP})
    kind = "authorisation"
    form_class = AuthorisationForm
    title = _("The prescriber’s word")
    lead = _("The prescriber has said that this skill may be taught to, and done by, the caregivers of this family.")
    button = _("Sign the authorisation")
    done = _("Authorisation entered.")
    nothing = _("No skill of this programme needs an authorisation.")
    from_address = ("skill",)

    def said_done(self, made: Record) -> str:
        words = {"skill": self.file.words.skill(made.data["skill"]).title, **_days(made)}
        if made.data["through"]:
            return _("Authorisation entered: %(skill)s, %(from)s through %(through)s.") % words
        return _("Authorisation entered: %(skill)s from %(from)s, with no last day.") % words


def _days(made: Record) -> dict[str, str]:
    """The first and last day of a record in words."""
    return {key: _written(made.data[key]) for key in ("from", "through") if made.data.get(key)}


def _written(text: str) -> str:
    return written(DayField().clean(text))


class ItemForm(EntryForm):
    item = forms.ChoiceField(label=_("What was checked or put in place"))
    on = DayField(label=_("On"))
    hours = forms.IntegerField(
        label=_("Hours tried"),
        required=False,
        min_value=1,
        max_value=10_000,
        help_text=_("Of what is tried for a time."),
    )
    note = words_field(_("Note"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choose("item", ((item.code, item.title) for item in self.picture.items))
        self.asked = {code: item["hours"] for code, item in self.published().items() if item.get("hours")}
        if not self.asked:
            del self.fields["hours"]

    def published(self) -> dict[str, dict[str, Any]]:
        return items_in_force(self.picture.file.programme, self.picture.day)

    def clean(self) -> dict[str, Any]:
        """An entry says that it is in place, so it is made once the hours are reached."""
        data = super().clean() or self.cleaned_data
        asked, tried = self.asked.get(data.get("item", "")), data.get("hours")
        if asked and "hours" not in self.errors and (tried or 0) < asked:
            said = _("This programme asks for %(n)s hours. Enter it once they are reached.") % {"n": asked}
            self.add_error("hours", said)
        return data

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        hours = {"hours": data["hours"]} if data.get("hours") and data["item"] in self.asked else {}
        return {"item": data["item"], "on": iso(data["on"]), **hours, "note": data["note"]}


class NewItem(DeedView):
    asks = frozenset({Right.RECORD})
    kind = "item"
    form_class = ItemForm
    title = _("In place")
    lead = _("Kit, equipment, home and papers stand beside the training; each is checked by a person.")
    button = _("Sign that it is in place")
    done = _("Item entered.")
    nothing = _("The rules of this programme name no items.")
    from_address = ("item",)


class SignatureForm(EntryForm):
    """The educator's signature, offered only where one is awaited."""

    which = forms.ChoiceField(label=_("Caregiver and skill"))
    places = {"skill": "which", "on": "which"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.choose("which", self.awaited())
        self.initial.setdefault("which", f"{self.initial.get('caregiver')}/{self.initial.get('skill')}")

    def awaited(self) -> Iterable[tuple[str, str]]:
        for caregiver in self.picture.caregivers:
            for cell in self.picture.cells_of(caregiver):
                if "educator" in signatures_missing(self.picture, caregiver, cell.skill.code):
                    yield f"{caregiver.case_id}/{cell.skill.code}", f"{caregiver.full_name}, {cell.skill.title}"

    def body(self) -> dict[str, Any]:
        caregiver, _slash, skill = self.cleaned_data["which"].partition("/")
        return {"caregiver": caregiver, "skill": skill, "on": iso(self.picture.day), "by": "educator"}


class NewSignature(DeedView):
    asks = frozenset({Right.RECORD})
    kind = "signature"
    form_class = SignatureForm
    title = _("The educator’s signature")
    lead = _("All of it has been shown. The sign-off waits for your word that this caregiver may do it alone.")
    button = _("Sign that they may do it alone")
    done = _("Signed.")
    nothing = _("No skill of this family waits for an educator’s signature.")
