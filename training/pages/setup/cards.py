"""A card issued elsewhere. It belongs to the person, so it can be written in each of their families at once."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django import forms
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.programme import Evidence
from training.pages.hats import is_in_family
from training.pages.setup.deed import DeedView
from training.pages.setup.fields import DayField, EntryForm, iso, words_field
from training.people.access import Right
from training.people.models import Caregiver, Member
from training.records.models import Record
from training.standing.file import rules_of
from training.standing.together import certificates


class CertificateForm(EntryForm):
    caregiver = forms.ChoiceField(label=gettext_lazy("Caregiver"))
    skill = forms.ChoiceField(label=gettext_lazy("Card"))
    on = DayField(label=gettext_lazy("Date of the card"))
    through = DayField(
        label=gettext_lazy("Last day printed on the card"),
        required=False,
        help_text=gettext_lazy("Left out: the card does not run out."),
    )
    note = words_field(gettext_lazy("Note"), required=False, help_text=gettext_lazy("Who issued it, and its number."))
    also = forms.MultipleChoiceField(
        label=gettext_lazy("The same person cares in another family too. Write the card there as well"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    days = ("on", "through")

    def __init__(self, *args: Any, member: Member, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.elsewhere = {c.case_id: c for c in elsewhere(self.picture.caregivers, member, self.now)}
        if not self.elsewhere:
            del self.fields["also"]
            return
        self.fields["also"].choices = [(case_id, _place(c)) for case_id, c in self.elsewhere.items()]

    def skills(self) -> Iterable[str]:
        return cards(self.picture.history.known.programme.skills)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        here = next((c for c in self.picture.caregivers if c.case_id == data.get("caregiver")), None)
        for one in self.places_chosen():
            if here is None or one.user_id != here.user_id:
                self.add_error("also", _("%(place)s is another person.") % {"place": _place(one)})
            elif data.get("skill") not in cards(_rules(one).skills):
                self.add_error("also", _("The checklists of %(place)s ask for no such card.") % {"place": _place(one)})
            elif data.get("on") and data["on"] > one.family.today(self.now):
                self.add_error("also", _("It is not that day yet at %(place)s.") % {"place": _place(one)})
        return data

    def places_chosen(self) -> list[Caregiver]:
        """The person's other places that were chosen."""
        return [self.elsewhere[case_id] for case_id in self.cleaned_data.get("also", ())]

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "caregiver": data["caregiver"],
            "skill": data["skill"],
            "on": iso(data["on"]),
            "through": iso(data["through"]),
            "note": data["note"],
        }


def cards(skills: Any) -> list[str]:
    """The skills that a card is the evidence for."""
    return [code for code, skill in skills.items() if skill.evidence is Evidence.CERTIFICATE]


def elsewhere(caregivers: Iterable[Caregiver], member: Member, now: datetime) -> list[Caregiver]:
    """Where the same accounts stand for a caregiver in other families that this member sees, and are there today."""
    here = list(caregivers)
    users = {c.user_id for c in here if c.user_id is not None}
    rows = Caregiver.objects.visible_to(member).filter(user__in=users).exclude(pk__in=[c.pk for c in here])
    rows = rows.select_related("family__organisation", "family__enrolment__programme").order_by("pk")
    return [c for c in rows if is_in_family(c, c.family.today(now))]


def _rules(caregiver: Caregiver) -> Any:
    programme = caregiver.family.enrolment.programme
    return rules_of(programme.pk, programme.version)


def _place(caregiver: Caregiver) -> str:
    said = {"name": caregiver.full_name, "family": caregiver.family.name, "patient": caregiver.family.patient_called}
    return _("%(name)s, %(family)s family, for %(patient)s") % said


class NewCertificate(DeedView):
    asks = frozenset({Right.RECORD})
    kind = "certificate"
    form_class = CertificateForm
    title = gettext_lazy("A card issued elsewhere")
    lead = gettext_lazy("Copy the dates from the card in your hand.")
    button = gettext_lazy("Sign what the card says")
    done = gettext_lazy("Card entered.")
    nothing = gettext_lazy("There is no caregiver yet, or this programme asks for no card.")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "member": self.member}

    def write(self, form: CertificateForm) -> Record:
        here = next(c for c in self.picture.caregivers if c.case_id == form.cleaned_data["caregiver"])
        self.also = form.places_chosen()
        return certificates(
            caregiver=here,
            also=self.also,
            body=form.body(),
            by=self.member,
            intent=form.cleaned_data["intent"],
            at=self.now,
        )

    def said_done(self, made: Record) -> str:
        places = ", ".join(_place(c) for c in getattr(self, "also", ()))
        return _("Card entered, here and for %(places)s.") % {"places": places} if places else str(self.done)
