"""Before the first step: who, for whom, on which edition, what troubled last time, and assessment or practice."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.functional import cached_property
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from competency.programme import Edition, Evidence
from training.pages.recording import words
from training.pages.recording.addresses import draft_address
from training.pages.recording.draft_view import signed_already, to_record
from training.pages.recording.forms import StartForm
from training.pages.recording.last_time import last_time
from training.pages.views import FamilyView
from training.people.access import Right
from training.people.models import Organisation
from training.standing import drafts
from training.standing.questions import FactShown, FamilyOn, written


class Start(FamilyView):
    right = Right.RECORD

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            return super().dispatch(request, *args, **kwargs)
        except drafts.NotYourDraftError:
            raise Http404 from None

    @cached_property
    def picture(self) -> FamilyOn:
        """Recording begins today, whatever date the address asks for."""
        return FamilyOn(self.file, self.today)

    @property
    def is_certified(self) -> bool:
        return self.file.rules.skills[self.skill].evidence is Evidence.CERTIFICATE

    @cached_property
    def edition(self) -> Edition | None:
        return self.file.rules.skills[self.skill].in_force(self.today)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.is_certified:
            return self.to_certificate()
        return self.page(self.form(initial={**self.likeliest(), **self.from_address()}))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.is_certified:
            return self.to_certificate()
        form = self.form(request.POST)
        if not form.is_valid():
            return self.page(form)
        intent = form.cleaned_data["intent"]
        signed = signed_already(intent, self.member)
        if signed is not None:
            return to_record(request, signed)
        draft = drafts.start(
            author=self.member, caregiver=self.caregiver, data=self.body(form), intent=intent, at=self.now
        )
        for warning in form.warnings:
            messages.warning(request, warning)
        return redirect(draft_address(draft, drafts.Attempt(self.picture.history, self.file.words, draft, self.now)))

    def form(self, *args: Any, **kwargs: Any) -> StartForm:
        form = StartForm(
            *args,
            file=self.file,
            caregiver=self.caregiver,
            skill=self.skill,
            by=self.member,
            now=self.now,
            **kwargs,
        )
        form.fields["setting"].choices = [
            (code, self.family.patient_called if code == "patient" else title) for code, title in words.SETTINGS.items()
        ]
        return form

    def body(self, form: StartForm) -> dict[str, Any]:
        chosen = {k: form.cleaned_data[k] for k in ("purpose", "on", "setting", "role", "mode", "place", "began")}
        return drafts.beginning(
            **chosen,
            time=form.moment,
            skill=self.skill,
            edition=form.edition or 0,
            observer=self.member,
            second=form.others.get(form.cleaned_data["second"]),
        )

    @cached_property
    def gates(self) -> list[str]:
        return words.gates_closed(self.picture, self.caregiver, self.skill)

    def from_address(self) -> dict[str, str]:
        """Days and a time that a link hands over, such as a stay's; the form judges them like typed ones."""
        return {name: self.request.GET[name] for name in ("began", "on", "time") if name in self.request.GET}

    def likeliest(self) -> dict[str, Any]:
        """What is chosen beforehand: what the standard looks at, where there is a choice."""
        needs = self.edition.standard.needs if self.edition else ()
        wanted = needs[0] if needs else None
        settings = [] if self.gates else ["patient"]
        at_hand = "hospital" if self.family.organisation.kind == Organisation.Kind.HOSPITAL else "home"
        local = self.now.astimezone(self.family.zone)
        return {
            "setting": _first((*settings, "simulation", "model"), wanted and wanted.setting),
            "role": _first(("lead", "assist"), wanted and wanted.role),
            "mode": _first(("in_person", "remote"), wanted and wanted.mode),
            "place": _first((at_hand, *words.PLACES), wanted and wanted.place),
            "on": local.date(),
            "time": local.time(),
            "time_shown": f"{local:%H:%M}",
        }

    def page(self, form: StartForm) -> HttpResponse:
        page = {
            "form": form,
            "family": self.family,
            "caregiver": self.caregiver,
            "skill": self.file.words.skill(self.skill),
            "edition": self.edition,
            "cell": self.picture.cell(self.caregiver, self.skill),
            "facts": list(self.facts()),
            "last": last_time(self.picture, self.caregiver, self.skill),
            "gates": self.gates,
            "warnings": self.said_before(),
            "is_self": drafts.observes_themself(self.member, self.caregiver),
            "no_plan": self.picture.history.known.first_day is None,
            "under_way": self.under_way(),
            "set_as": [*(_chosen(form, name) for name in ("role", "mode", "place")), _when(form)],
        }
        return render(self.request, "recording/start.html", page)

    def facts(self) -> list[FactShown]:
        """What the care plan says that this edition asks about."""
        if self.edition is None:
            return []
        asked = {fact for fact, _values in self.edition.applies_when.allowed} | set(self.edition.on_change)
        asked |= {fact for step in self.edition.steps for fact, _values in step.applies_when.allowed}
        return [fact for fact in self.picture.facts if fact.code in asked]

    def said_before(self) -> list[str]:
        found = words.stands_in_the_way(self.picture.cell(self.caregiver, self.skill))
        if not self.picture.history.observers.is_qualified(self.member.observer_id, self.skill, self.today):
            about = {"skill": self.file.words.skill(self.skill).title, "day": written(self.today)}
            found.append(
                _("You are not qualified to assess %(skill)s on %(day)s: it will be kept as practice.") % about
            )
        return found

    def under_way(self) -> list[tuple[str, str, date]]:
        """This author's own drafts of the same: address, purpose, day."""
        found = self.caregiver.drafts.filter(author=self.member, data__skill=self.skill)
        return [
            (
                reverse("draft", kwargs={"draft": d.public_id}),
                str(words.PURPOSES[d.data["purpose"]]),
                date.fromisoformat(d.data["on"]),
            )
            for d in found
        ]

    def to_certificate(self) -> HttpResponse:
        asked = urlencode({"caregiver": self.caregiver.public_id, "skill": self.skill})
        messages.info(self.request, _("This skill is shown by a card, not by a demonstration. Copy its dates here."))
        return redirect(f"{reverse('certificate-new', kwargs={'family': self.family.public_id})}?{asked}")


def _chosen(form: StartForm, name: str) -> str:
    return str(dict(form.fields[name].choices).get(form[name].value(), ""))


def _when(form: StartForm) -> str:
    """The day and time the form holds: in words, or as they were typed."""
    day, time = form["on"].value(), form["time"].value()
    with suppress(ValueError):
        day = date.fromisoformat(day) if isinstance(day, str) else day
    shown = written(day) if isinstance(day, date) else day or ""
    return f"{shown}, {time if isinstance(time, str) else format(time, '%H:%M')}" if time else shown


def _first(likely: tuple[str, ...], wanted: frozenset[str] | None) -> str:
    """The likeliest of those that are wanted; the likeliest where none is."""
    return next((code for code in likely if wanted and code in wanted), likely[0])
