"""After a hand-over: one page for both sides, and the sign-offs that are taken over one by one, after a check."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from itertools import groupby
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.handover.keeping import content_of, misfit_of
from training.handover.models import Offer
from training.handover.received import ReceivedFile
from training.handover.standings import There, signed_off_there, skills_here
from training.pages.family.views import rights
from training.pages.setup.care_plan import CarePlanForm, NewCarePlan, as_typed
from training.pages.setup.deed import DeedView
from training.pages.setup.fields import DayField, EntryForm, iso, words_field
from training.pages.views import FamilyView
from training.people.access import Right
from training.records.models import Record
from training.standing.questions import FamilyOn, written


class HandedOver:
    """Mixed into a family's view: the offer it came from and the other organisation's file. 404 where there is none."""

    family: Any
    file: Any
    picture: FamilyOn

    @cached_property
    def came_from(self) -> Offer:
        found = Offer.objects.filter(made=self.family).first()
        if found is None:
            raise Http404
        return found

    @cached_property
    def handover(self) -> Record:
        found = next((r for r in self.file.records if r.kind == "handover"), None)
        if found is None:
            raise Http404
        return found

    @cached_property
    def received(self) -> ReceivedFile:
        return ReceivedFile(content_of(self.came_from), self.handover.data["from_title"])

    @property
    def handed_on(self) -> date:
        return date.fromisoformat(self.handover.data["on"])

    @cached_property
    def there(self) -> FamilyOn:
        """The other organisation's file on the day of the hand-over."""
        return self.received.on(self.handed_on)

    @cached_property
    def sign_offs(self) -> list[There]:
        return signed_off_there(self.there, self.picture, self.handover.data["people"])

    def misfit(self) -> str:
        body = self.handover.data
        return misfit_of(self.came_from, sha256=body["sha256"], head=body["head"])


class HandoverPage(HandedOver, FamilyView):
    """Where the family came from and what is still to do, and every offer that was made of it."""

    right = Right.READ

    @cached_property
    def day(self) -> date:
        return self.today

    def get(self, request: HttpRequest, family: Any) -> HttpResponse:
        offers = self.family.offers.all()
        page = {
            "family": self.family,
            "may": rights(self),
            "offers": [(offer, offer.state(self.now)) for offer in offers],
            "may_offer": self.may_offer(),
            "today": self.today,
            **(self.taken_over() if hasattr(self.family, "came_from") else {}),
        }
        return render(request, "handover/handover.html", page)

    def may_offer(self) -> bool:
        waits = any(offer.is_open(self.now) for offer in self.family.offers.waiting())
        return self.may(Right.DECIDE) and not waits and self.family.closed_on is None

    def taken_over(self) -> dict[str, Any]:
        there = self.there
        return {
            "handover": self.handover.data,
            "handed_on": self.handed_on,
            "misfit": self.misfit(),
            "sign_offs": [
                {"caregiver": person, "rows": [(one, one.may_be_taken(self.today)) for one in found]}
                for person, found in groupby(self.sign_offs, key=lambda one: one.caregiver)
            ],
            "has_plan": self.picture.care_plan is not None,
            "plan_there": there.care_plan is not None,
            "facts": [f for f in there.facts if f.is_stated],
            "authorisations": list(_authorisations(there)),
            "without_sets": [c for c in self.picture.caregivers if not c.sets],
        }


def _authorisations(there: FamilyOn) -> list[dict[str, Any]]:
    """The prescriber's words in force there that day: to be asked for again."""
    found = there.history.known.authorisations
    return [
        {"skill": there.words.skill(a.skill).title, "through": a.through}
        for a in found
        if a.from_day <= there.day and (a.through is None or there.day <= a.through)
    ]


class HandedCarePlan(HandedOver, NewCarePlan):
    """The other organisation's facts, typed in already and nothing more: whoever signs has checked each one."""

    title = gettext_lazy("Care plan, from the other organisation’s")

    def get_initial(self) -> dict[str, Any]:
        plan = self.there.care_plan
        stated = plan.data["facts"] if plan else {}
        facts = self.picture.words.offered
        theirs = self.there.words.facts
        return {
            f"fact_{code}": as_typed(value)
            for code, value in stated.items()
            if code in facts and fits(facts[code], theirs.get(code, {}), value)
        }

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        said = _("Filled in from the care plan of %(there)s as of %(day)s. Check every fact against the order.") % {
            "there": self.handover.data["from_title"],
            "day": written(self.handed_on),
        }
        return super().get_context_data(**kwargs) | {"lead": said}

    def get_form_class(self) -> type[CarePlanForm]:
        if self.picture.care_plan is not None:
            raise Http404  # the file's own care plan goes on from there
        return CarePlanForm

    @property
    def home(self) -> str:
        return reverse("handover", args=[self.family.public_id])


def fits(here: dict[str, Any], there: dict[str, Any], value: Any) -> bool:
    """Whether a fact of the same code means the same: its kind, its unit, and a choice that is offered here too."""
    same = (here["kind"], here.get("unit")) == (there.get("kind"), there.get("unit"))
    return same and (here["kind"] != "choice" or str(value) in {str(c) for c in here["choices"]})


class TakeOverForm(EntryForm):
    """there: the sign-off there; its last day and its organisation are not typed, they are read."""

    skill = forms.ChoiceField(label=gettext_lazy("Taken over as"))
    on = DayField(label=gettext_lazy("Day of your own check"))
    checked = forms.BooleanField(label=gettext_lazy("I watched it, or checked it myself, on this day"))
    how = words_field(gettext_lazy("How you checked"), help_text=gettext_lazy("What you saw or went through."))

    def __init__(self, *args: Any, there: There, organisation: str, since: date, member: Any, **kwargs: Any) -> None:
        self.there, self.organisation, self.since, self.member = there, organisation, since, member
        super().__init__(*args, **kwargs)
        self.initial.setdefault("skill", there.match)

    def skills(self) -> list[str]:
        return [s.code for s in skills_here(self.picture)]

    def clean_on(self) -> date:
        on: date = self.cleaned_data["on"]
        if on < self.since:
            raise forms.ValidationError(_("That is before the family was handed over."))
        if self.there.has_run_out(on):
            raise forms.ValidationError(_("It had run out by then. It has to be shown again."))
        return on

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("skill") and data.get("on"):
            asked = self.picture.history.observers
            if not asked.is_qualified(self.member.observer_id, data["skill"], data["on"]):
                self.add_error("skill", _("You are not qualified to assess this skill on that day."))
        return data

    def body(self) -> dict[str, Any]:
        data, there = self.cleaned_data, self.there
        return {
            "caregiver": there.caregiver.case_id,
            "skill": data["skill"],
            "on": iso(data["on"]),
            "last_day": iso(there.last_day),
            "organisation": self.organisation,
            "skill_there": there.skill.title,
            "there": there.skill.code,
            "checked_how": data["how"],
        }


class TakeOver(HandedOver, DeedView):
    """One sign-off of the other organisation, after a check of one's own."""

    asks = frozenset({Right.RECORD})
    kind = "accepted"
    form_class = TakeOverForm
    title = gettext_lazy("Take over a sign-off")
    button = gettext_lazy("Sign that you take it over")
    done = gettext_lazy("Sign-off taken over.")
    from_address = ()

    @cached_property
    def wanted(self) -> There:
        """The sign-off in the address; 404 where it is none that may be taken over today."""
        caregiver = str(self.kwargs["caregiver"])
        for one in self.sign_offs:
            named = (one.caregiver.case_id, one.skill.code) == (caregiver, self.kwargs["skill"])
            if named and one.may_be_taken(self.today) and self.picture.care_plan is not None:
                return one
        raise Http404

    def get_form_kwargs(self) -> dict[str, Any]:
        about = {"there": self.wanted, "organisation": self.handover.data["from_title"], "since": self.handed_on}
        return {**super().get_form_kwargs(), **about, "member": self.member}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        one = self.wanted
        said = {
            "name": one.caregiver.full_name,
            "skill": one.skill.title,
            "there": self.handover.data["from_title"],
            "last": written(one.last_day) if one.last_day else _("none, it does not run out"),
        }
        lead = _("%(name)s, %(skill)s: signed off by %(there)s. Its last day there: %(last)s.") % said
        return super().get_context_data(**kwargs) | {"lead": lead}

    @property
    def home(self) -> str:
        return reverse("handover", args=[self.family.public_id])
