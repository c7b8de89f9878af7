"""A real emergency handled at home, and talking it through afterwards. Neither counts for anything."""

from __future__ import annotations

from typing import Any

from django import forms
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from training.pages.setup.fields import ClockField, DayField, EntryForm, clock, iso, words_field
from training.pages.setup.kept import KeptView
from training.records.models import Record
from training.standing.other_kinds import DEBRIEF

_STAFF_ONLY = _("Staff read it; no caregiver does.")


def who_field(label: Any, *, required: bool = True, help_text: Any = "") -> forms.MultipleChoiceField:
    """One or several of the family's caregivers."""
    return forms.MultipleChoiceField(
        label=label, required=required, help_text=help_text, widget=forms.CheckboxSelectMultiple
    )


class WhoForm(EntryForm):
    """An entry that may name several caregivers in a field ``who``."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if "who" in self.fields:
            self.fields["who"].choices = [(c.case_id, c.full_name) for c in self.picture.caregivers]


class EventForm(WhoForm):
    on = DayField(label=_("Day"))
    time = ClockField(label=_("Time"))
    who = who_field(_("Who handled it"))
    happened = words_field(_("What happened"), help_text=_STAFF_ONLY)
    done = words_field(_("What was done"), help_text=_STAFF_ONLY)
    thanked = forms.BooleanField(
        label=_("They were thanked"), required=False, help_text=_("Their own page thanks them too.")
    )
    debrief_on = DayField(label=_("Talked through with them on"), required=False)
    debrief_by = forms.CharField(label=_("Talked through by"), max_length=200, required=False)
    debrief_said = words_field(
        _("What was said"), required=False, help_text=_("It can be added on another day as well.")
    )

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "part": "event",
            "on": iso(data["on"]),
            "time": clock(data["time"]),
            "who": data["who"],
            "happened": data["happened"],
            "done": data["done"],
            "thanked": data["thanked"],
            **{key: iso(data[key]) if key == "debrief_on" else data[key] for key in DEBRIEF},
        }


class NewEvent(KeptView):
    kind = "event"
    form_class = EventForm
    title = _("A real emergency at home")
    lead = _(
        "Somebody of the family handled a real emergency. It is written down, thanked and talked through. It counts "
        "for nothing: no standing changes by it."
    )
    button = _("Sign the entry")
    done = _("Entered. It counts for nothing: ask for a recheck, or put something on hold, where you want that.")
    nothing = _("There is no caregiver in this family yet.")
    from_address = ()

    def get_initial(self) -> dict[str, Any]:
        named = self.request.GET.getlist("caregiver")
        return {**super().get_initial(), "who": named}

    def after(self, made: Record) -> str:
        return reverse("record", args=[self.family.public_id, made.number])


class DebriefForm(EntryForm):
    on = DayField(label=_("Talked through on"))
    debrief_by = forms.CharField(label=_("Talked through by"), max_length=200)
    debrief_said = words_field(_("What was said"), help_text=_STAFF_ONLY)
    thanked = forms.BooleanField(label=_("They were thanked"), required=False)

    def __init__(self, *args: Any, about: Record, by: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.about = about
        self.initial.setdefault("debrief_by", by)

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "part": "debrief",
            "record": str(self.about.intent),
            "on": iso(data["on"]),
            "debrief_by": data["debrief_by"],
            "debrief_said": data["debrief_said"],
            "thanked": data["thanked"],
        }


class NewDebrief(KeptView):
    kind = "event"
    about_part = "event"
    form_class = DebriefForm
    title = _("Talking the emergency through")
    lead = _("What happened is talked through with those who handled it, without blame. It counts for nothing.")
    button = _("Sign the entry")
    done = _("Entered.")
    from_address = ()

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "by": self.member.signed_name}

    @property
    def home(self) -> str:
        return reverse("record", args=[self.family.public_id, self.record.number])

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        about = gettext("About record %(number)s.") % {"number": self.record.number}
        return super().get_context_data(**kwargs) | {"lead": f"{self.lead} {about}"}
