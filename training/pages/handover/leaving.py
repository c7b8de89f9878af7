"""Closing a file, opening it again, and writing down a paper from outside."""

from __future__ import annotations

from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.pages.setup.fields import DayField, EntryForm, iso, words_field
from training.pages.setup.kept import KeptView
from training.people.access import Right
from training.people.models import Family


class ClosingForm(EntryForm):
    why = forms.ChoiceField(label=gettext_lazy("Why"), choices=[("", gettext_lazy("Choose")), *Family.Why.choices])
    on = DayField(label=gettext_lazy("On"))
    note = words_field(gettext_lazy("Note"), required=False, help_text=gettext_lazy("Staff read it; nobody else does."))

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {"why": data["why"], "on": iso(data["on"]), "note": data["note"]}


class CloseFamily(KeptView):
    asks = frozenset({Right.SET_UP, Right.DECIDE})
    kind = "closing"
    form_class = ClosingForm
    title = gettext_lazy("Close this file")
    lead = gettext_lazy(
        "From that day the family is on no board, nothing is counted ahead, and the caregivers’ pages ask nothing of "
        "them. Everything stays to read. A supervisor can open the file again."
    )
    button = gettext_lazy("Sign and close the file")
    done = gettext_lazy("The file is closed.")
    from_address = ()


class ReopeningForm(EntryForm):
    on = DayField(label=gettext_lazy("On"))
    reason = words_field(gettext_lazy("Reason"))

    def body(self) -> dict[str, Any]:
        return {"on": iso(self.cleaned_data["on"]), "reason": self.cleaned_data["reason"]}


class ReopenFamily(KeptView):
    asks = frozenset({Right.DECIDE})
    kind = "reopening"
    form_class = ReopeningForm
    title = gettext_lazy("Open this file again")
    lead = gettext_lazy("The closing stays in the record. The family is on the boards again.")
    button = gettext_lazy("Sign and open the file")
    done = gettext_lazy("The file is open again.")
    from_address = ()


class OutsideForm(EntryForm):
    evidence = words_field(gettext_lazy("What it shows"), help_text=gettext_lazy("In words; no file is kept."))
    says = forms.CharField(label=gettext_lazy("Who says so"), max_length=200)
    on = DayField(label=gettext_lazy("Dated"))
    caregiver = forms.ChoiceField(label=gettext_lazy("About"), required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = [(c.case_id, c.full_name) for c in self.picture.caregivers]
        self.fields["caregiver"].choices = [("", _("Nobody in particular")), *people]

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "evidence": data["evidence"],
            "says": data["says"],
            "on": iso(data["on"]),
            "caregiver": data["caregiver"] or None,
        }


class NewOutsideEvidence(KeptView):
    asks = frozenset({Right.RECORD, Right.SET_UP})
    kind = "outside_evidence"
    form_class = OutsideForm
    title = gettext_lazy("A paper from outside")
    lead = gettext_lazy(
        "Something another hospital or trainer wrote that is not in this register. It is listed as unverified and "
        "counts for nothing until you have seen it done yourself."
    )
    button = gettext_lazy("Sign the entry")
    done = gettext_lazy("Entered. It counts for nothing until it is observed.")
    from_address = ("caregiver",)
