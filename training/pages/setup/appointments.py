"""Appointments: planned, moved, cancelled. The newest record of one stands."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404
from django.utils.functional import cached_property
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from training.documents.record_labels import INTERPRETERS as KINDS
from training.pages.setup.events import WhoForm, who_field
from training.pages.setup.fields import ClockField, DayField, clock, iso, words_field
from training.pages.setup.kept import KeptView
from training.people.access import Right, may
from training.people.models import Member
from training.records.models import Record
from training.standing.appointments import INTERPRETERS, LONGEST, Appointment, appointments_of


class AppointmentForm(WhoForm):
    day = DayField(label=_("Day"))
    at = ClockField(label=_("Time"))
    minutes = forms.IntegerField(label=_("Length in minutes"), required=False, min_value=1, max_value=LONGEST)
    what_for = forms.MultipleChoiceField(label=_("Skills"), required=False, widget=forms.CheckboxSelectMultiple)
    what = forms.CharField(label=_("Or something else"), max_length=200, required=False)
    caregiver = forms.ChoiceField(label=_("Whose turn"))
    who = who_field(_("Who comes along"), required=False)
    checks = forms.ChoiceField(label=_("Who checks"), required=False)
    interpreter = forms.ChoiceField(label=_("Interpreter"), required=False)
    language = forms.CharField(label=_("Language of the interpreter"), max_length=80, required=False)
    place = forms.CharField(label=_("Place"), max_length=200, required=False)
    places = {"skills": "what_for"}

    def __init__(self, *args: Any, members: list[Member], about: Appointment | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.about = about
        words, skills = self.picture.words, self.picture.history.known.programme.skills
        self.fields["what_for"].choices = [(code, words.skill(code).title) for code in skills]
        self.fields["checks"].choices = [
            ("", gettext("Not settled")),
            *((m.observer_id, m.signed_name) for m in members),
        ]
        kinds = ((kind, KINDS[kind]) for kind in INTERPRETERS)
        self.fields["interpreter"].choices = [("", gettext("None needed")), *kinds]

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if not data.get("what_for") and not data.get("what"):
            self.add_error("what_for", gettext("Choose a skill, or say what it is for."))
        if data.get("interpreter") and not data.get("language"):
            self.add_error("language", gettext("Say which language."))
        return data

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        named = {"part": "moved", "record": str(self.about.first.intent)} if self.about else {"part": "planned"}
        return {
            **named,
            "day": iso(data["day"]),
            "at": clock(data["at"]),
            "minutes": data["minutes"],
            "skills": data["what_for"],
            "what": data["what"],
            "caregiver": data["caregiver"],
            "who": [who for who in data["who"] if who != data["caregiver"]],
            "checks": data["checks"] or None,
            "interpreter": self.spoken(),
            "place": data["place"],
        }

    def spoken(self) -> dict[str, str] | None:
        kind = self.cleaned_data["interpreter"]
        return {"kind": kind, "language": self.cleaned_data["language"]} if kind else None


class AppointmentDeed(KeptView):
    kind = "appointment"

    def get_form_kwargs(self) -> dict[str, Any]:
        rows = Member.objects.visible_to(self.member).select_related("user", "organisation")
        here = [m for m in rows if may(m, Right.RECORD) and (m.through is None or m.through >= self.today)]
        return {**super().get_form_kwargs(), "members": here}


class NewAppointment(AppointmentDeed):
    form_class = AppointmentForm
    title = _("Next together")
    lead = _("What is planned, when, and whose turn it is. Those it concerns read it on their own page.")
    button = _("Sign the appointment")
    done = _("Planned.")
    nothing = _("There is no caregiver in this family yet.")

    def get_initial(self) -> dict[str, Any]:
        skill = self.request.GET.get("skill")
        return {**super().get_initial(), **({"what_for": [skill]} if skill else {})}


class StandingAppointment(AppointmentDeed):
    """A deed about the appointment that the record in the address began; 404 once it is cancelled."""

    about_part = "planned"
    from_address = ()

    @cached_property
    def appointment(self) -> Appointment:
        found = appointments_of(self.file.records)
        named = next((a for a in found if a.first.number == self.kwargs["number"] and not a.is_cancelled), None)
        if named is None:
            raise Http404
        return named

    @property
    def record(self) -> Record:
        return self.appointment.first

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "about": self.appointment}


class MoveAppointment(StandingAppointment):
    form_class = AppointmentForm
    title = _("Change this appointment")
    lead = _("What it said before stays in the record.")
    button = _("Sign the change")
    done = _("Changed.")

    def get_initial(self) -> dict[str, Any]:
        body = self.appointment.body
        spoken = body["interpreter"] or {}
        return {
            **{key: body[key] for key in ("day", "at", "minutes", "what", "caregiver", "who", "checks", "place")},
            "what_for": body["skills"],
            "interpreter": spoken.get("kind"),
            "language": spoken.get("language", ""),
        }


class CancelForm(WhoForm):
    reason = words_field(_("Reason"), help_text=_("Staff read it; the caregiver reads only that it is off."))

    def __init__(self, *args: Any, members: list[Member], about: Appointment, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.about = about

    def body(self) -> dict[str, Any]:
        return {
            "part": "cancelled",
            "record": str(self.about.first.intent),
            "reason": self.cleaned_data["reason"],
        }


class CancelAppointment(StandingAppointment):
    form_class = CancelForm
    title = _("Cancel this appointment")
    lead = _("It stays in the record, with your reason.")
    button = _("Sign that it is off")
    done = _("Cancelled.")
