"""A supervisor's decisions: exceptions, holds, rechecks, withdrawals, and sign-offs taken over from elsewhere."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django import forms
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from competency.readiness import TEAM, fact_code, item_code
from training.pages.setup.deed import DeedView
from training.pages.setup.fields import ClockField, DayField, EntryForm, clock, iso, words_field
from training.people.access import Right
from training.people.models import Member

_NO_CAREGIVER = _("There is no caregiver in this family yet.")


class ExceptionForm(EntryForm):
    missing = forms.ChoiceField(label=_("What is missing"))
    from_day = DayField(label=_("From"))
    through = DayField(label=_("Last day"), help_text=_("An exception always has one."))
    reason = words_field(_("Reason"), help_text=_("Printed, with your name, wherever the verdict is."))

    def __init__(self, *args: Any, member: Member, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.member = member
        now = [(m.code, m.title) for m in self.picture.missing]
        others = [(code, title) for code, title in self.could_miss() if code not in dict(now)]
        groups = [(gettext("Missing today"), now), (gettext("Not missing today"), others)]
        self.fields["missing"].choices = [("", gettext("Choose")), *((name, found) for name, found in groups if found)]

    def could_miss(self) -> Iterator[tuple[str, str]]:
        yield TEAM, gettext("Team")
        for item in self.picture.items:
            yield item_code(item.code), item.title
        for code in self.picture.words.offered:
            yield fact_code(code), self.picture.words.fact(code)

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "missing": data["missing"],
            "from": iso(data["from_day"]),
            "through": iso(data["through"]),
            "by": self.member.observer_id,
            "reason": data["reason"],
        }


class NewException(DeedView):
    asks = frozenset({Right.DECIDE})
    kind = "exception"
    form_class = ExceptionForm
    title = _("An exception")
    lead = _("The family may be ready although this is missing. You answer for it by name, until a last day.")
    button = _("Sign the exception")
    done = _("Exception entered. It is printed with your name wherever the verdict is.")
    from_address = ("missing",)

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "member": self.member}


class HoldForm(EntryForm):
    every = True
    caregiver = forms.ChoiceField(label=_("Caregiver"))
    skill = forms.ChoiceField(label=_("Skill"))
    on = DayField(label=_("From"))
    through = DayField(label=_("Last day"), required=False, help_text=_("Left out: until it is voided."))
    reason = words_field(_("Reason"), help_text=_("Staff read it; the caregiver reads only “on pause”."))
    days = ("on", "through")

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "caregiver": data["caregiver"],
            "skill": self.skill_or_every(),
            "on": iso(data["on"]),
            "through": iso(data["through"]),
            "reason": data["reason"],
        }


class NewHold(DeedView):
    """Whoever works with the family may put a hold; it takes nothing away that was shown."""

    asks = frozenset({Right.DECIDE, Right.RECORD, Right.SET_UP})
    kind = "hold"
    form_class = HoldForm
    title = _("A hold")
    lead = _("On hold, a skill is not done alone and not practised on the patient. Nothing that was shown is lost.")
    button = _("Sign the hold")
    done = _("Hold entered. Nothing that was shown is lost.")
    nothing = _NO_CAREGIVER


class RecheckForm(EntryForm):
    every = True
    caregiver = forms.ChoiceField(label=_("Caregiver"))
    skill = forms.ChoiceField(label=_("Skill"))
    on = DayField(label=_("Asked for on"))
    time = ClockField(
        label=_("At"), required=False, help_text=_("What was shown before this moment does not close it.")
    )
    reason = words_field(_("Reason"))

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "caregiver": data["caregiver"],
            "skill": self.skill_or_every(),
            "on": iso(data["on"]),
            "time": clock(data["time"]),
            "reason": data["reason"],
        }


class NewRecheck(DeedView):
    asks = frozenset({Right.DECIDE})
    kind = "recheck"
    form_class = RecheckForm
    title = _("Ask to see it again")
    lead = _("A signed-off skill is held until it has been shown again.")
    button = _("Sign the recheck")
    done = _("Recheck entered.")
    nothing = _NO_CAREGIVER


class WithdrawalForm(EntryForm):
    caregiver = forms.ChoiceField(label=_("Caregiver"))
    skill = forms.ChoiceField(label=_("Skill"))
    on = DayField(label=_("Withdrawn on"))
    time = ClockField(label=_("At"), required=False)
    reason = words_field(_("Reason"))
    cover = words_field(_("Cover plan"), help_text=_("Who does this instead, from when, and how they are reached."))

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "caregiver": data["caregiver"],
            "skill": data["skill"],
            "on": iso(data["on"]),
            "time": clock(data["time"]),
            "reason": data["reason"],
            "cover": data["cover"],
        }


class NewWithdrawal(DeedView):
    asks = frozenset({Right.DECIDE})
    kind = "withdrawal"
    form_class = WithdrawalForm
    title = _("Withdraw a sign-off")
    lead = _(
        "Only a full sign-off, a sign-off taken over or a new card leads back. Say who covers from this moment on."
    )
    button = _("Sign the withdrawal")
    done = _("Withdrawn, with your reason and the cover plan.")
    nothing = _NO_CAREGIVER


class AcceptedForm(EntryForm):
    caregiver = forms.ChoiceField(label=_("Caregiver"))
    skill = forms.ChoiceField(label=_("Skill"))
    organisation = forms.CharField(label=_("Organisation that signed it off"), max_length=200)
    on = DayField(label=_("Day of your own check"))
    last_day = DayField(label=_("Its own last day"), required=False, help_text=_("As the other organisation wrote it."))
    note = words_field(_("Note"), required=False, help_text=_("What you checked yourself."))
    days = ("on", "last_day")

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "caregiver": data["caregiver"],
            "skill": data["skill"],
            "on": iso(data["on"]),
            "last_day": iso(data["last_day"]),
            "organisation": data["organisation"],
            "note": data["note"],
        }


class NewAccepted(DeedView):
    asks = frozenset({Right.DECIDE})
    kind = "accepted"
    form_class = AcceptedForm
    title = _("Take over a sign-off")
    lead = _("Another organisation signed this off for the same patient, and you have checked it yourself.")
    button = _("Sign that you take it over")
    done = _("Sign-off taken over.")
    nothing = _NO_CAREGIVER
