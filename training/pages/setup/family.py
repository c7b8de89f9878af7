"""Opening a family's file, and changing what its first page says."""

from __future__ import annotations

from datetime import date, datetime
from functools import lru_cache
from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from competency.fields import RefusedError
from training.curriculum.models import Programme
from training.pages.forms import SignedForm
from training.pages.setup.deed import DeedView
from training.pages.setup.fields import DayField, EntryForm, iso, say_optional
from training.pages.views import MemberView
from training.people.access import Right
from training.people.models import Family, Member, Organisation
from training.standing import deeds, sites
from training.standing.signing import signed_by


@lru_cache(maxsize=1)
def zones() -> tuple[str, ...]:
    """The zones people live in: those named after a place."""
    return tuple(sorted(z for z in available_timezones() if "/" in z and not z.startswith(("Etc/", "SystemV/"))))


class SiteField(forms.CharField):
    """A site, tidied before it is measured."""

    def to_python(self, value: Any) -> str:
        return sites.tidy(super().to_python(value))


class AboutFamily(forms.Form):
    """The words on a file's first page."""

    name = forms.CharField(
        label=gettext_lazy("Family name"), max_length=200, help_text=gettext_lazy("How your lists call this family.")
    )
    patient_name = forms.CharField(label=gettext_lazy("Patient’s full name"), max_length=200)
    patient_called = forms.CharField(label=gettext_lazy("What to call them"), max_length=80)
    patient_born = DayField(label=gettext_lazy("Birth date"), required=False)
    time_zone = forms.ChoiceField(
        label=gettext_lazy("Time zone"),
        help_text=gettext_lazy("Every date of this file is counted where the patient is."),
    )
    site = SiteField(
        label=gettext_lazy("Site"),
        required=False,
        max_length=sites.LONGEST,
        help_text=gettext_lazy(
            "The ward, branch or town of yours that looks after this family, in your own words. Write it the same way "
            "each time: the board can show one site alone."
        ),
    )

    def offer_zones(self, used: str) -> None:
        choices = zones() if used in zones() else (used, *zones())
        self.fields["time_zone"].choices = [(zone, zone.replace("_", " ")) for zone in choices]
        self.initial.setdefault("time_zone", used)

    def offer_sites(self, organisation: Organisation) -> None:
        """Those in use stand in a list to pick from; any other may be written."""
        self.sites_in_use = sites.in_use(organisation)
        if self.sites_in_use:
            self.fields["site"].widget.attrs["list"] = "sites-in-use"

    def check_birth(self, today: date) -> None:
        born = self.cleaned_data.get("patient_born")
        if born and born > today:
            self.add_error("patient_born", _("This day lies ahead."))


class NewFamilyForm(AboutFamily, SignedForm):
    programme = forms.ChoiceField(label=gettext_lazy("Programme"))

    def __init__(self, *args: Any, member: Member, now: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.today = member.today(now)
        self.programmes = {str(p.public_id): p for p in Programme.objects.visible_to(member)}
        found = [(key, p.title) for key, p in self.programmes.items()]
        self.fields["programme"].choices = found if len(found) == 1 else [("", _("Choose")), *found]
        self.offer_zones(member.organisation.time_zone)
        self.offer_sites(member.organisation)
        self.order_fields([*(name for name in self.fields if name != "programme"), "programme"])
        self.prove_last()
        say_optional(self)

    @property
    def nothing_to_choose(self) -> bool:
        return not self.programmes

    def clean(self) -> dict[str, Any]:
        self.check_birth(self.today)
        return self.cleaned_data


class NewFamily(MemberView, FormView):
    """Opens a file and goes on to its first care plan."""

    right = Right.SET_UP
    form_class = NewFamilyForm
    template_name = "setup/family.html"

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user, "member": self.member, "now": self.now}

    def form_valid(self, form: NewFamilyForm) -> HttpResponse:
        try:
            family = self.write(form)
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        messages.success(self.request, _("File opened. It starts with a first care plan."))
        return redirect("care-plan-new", family=family.public_id)

    def write(self, form: NewFamilyForm) -> Family:
        data = form.cleaned_data
        return deeds.open_family(
            programme=form.programmes[data["programme"]],
            name=data["name"],
            patient_name=data["patient_name"],
            patient_called=data["patient_called"],
            patient_born=data["patient_born"],
            time_zone=data["time_zone"],
            site=data["site"],
            by=self.member,
            intent=data["intent"],
            at=self.now,
        )

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            title=_("A new family"),
            lead=_("One patient and the caregivers around them. The caregivers and the care plan come next."),
            button=_("Sign and open the file"),
            nothing=_("No checklists are published yet. A family follows one programme, so it waits for the first."),
            signing=signed_by(self.member, kind="family", at=self.now),
            **kwargs,
        )


class FamilyForm(AboutFamily, EntryForm):
    places = {"zone": "time_zone", "patient": "patient_name"}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        family = self.picture.family
        self.offer_zones(family.time_zone)
        self.offer_sites(family.organisation)
        for name in ("name", "patient_name", "patient_called", "patient_born", "site"):
            self.initial.setdefault(name, getattr(family, name))

    def clean(self) -> dict[str, Any]:
        self.check_birth(self.picture.day)
        return self.cleaned_data

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "name": data["name"],
            "patient": {
                "name": data["patient_name"],
                "called": data["patient_called"],
                "born": iso(data["patient_born"]),
            },
            "zone": data["time_zone"],
            "site": data["site"],
            "programme": str(self.picture.file.programme.public_id),
        }


class EditFamily(DeedView):
    asks = frozenset({Right.SET_UP})
    kind = "family"
    form_class = FamilyForm
    template_name = "setup/family.html"
    title = gettext_lazy("The file’s first page")
    lead = gettext_lazy("What it said before stays in the record.")
    button = gettext_lazy("Sign what changed")
    done = gettext_lazy("The file’s first page is changed.")
    from_address = ()
