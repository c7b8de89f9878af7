"""The log of a 24-hour stay: each entry is its own signed record, tied to the start; the page adds the hours up."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from django import forms
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.utils.functional import cached_property
from django.utils.http import urlencode
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from training.documents.other_words import duration
from training.documents.record_words import RecordWords
from training.pages.setup.events import WhoForm, who_field
from training.pages.setup.fields import ClockField, DayField, EntryForm, clock, iso, words_field
from training.pages.setup.kept import KeptView
from training.pages.views import FamilyView
from training.people.access import Right
from training.records.models import Record
from training.standing.stays import Stay, stays_of

_LOG = _("Write it down as it happens; a later entry carries both dates.")


class StartForm(EntryForm):
    on = DayField(label=_("Began on"))
    time = ClockField(label=_("At"))
    place = forms.CharField(label=_("Place"), max_length=200, help_text=_("Such as the ward and the room, or home."))
    skill = forms.ChoiceField(
        label=_("Skill it is shown for"),
        required=False,
        help_text=_("The stay’s page then leads to recording its demonstration. The log itself counts for nothing."),
    )

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "part": "start",
            "on": iso(data["on"]),
            "time": clock(data["time"]),
            "place": data["place"],
            "skill": data["skill"] or None,
        }


class StayDeed(KeptView):
    """A deed whose answer is the stay's page."""

    kind = "stay"
    from_address = ()

    def after(self, made: Record) -> str:
        start = self.record.number if self.about_part else made.number
        return reverse("stay", args=[self.family.public_id, start])

    @property
    def home(self) -> str:
        if self.about_part:
            return reverse("stay", args=[self.family.public_id, self.record.number])
        return reverse("stays", args=[self.family.public_id])


class StartStay(StayDeed):
    form_class = StartForm
    title = _("A 24-hour stay begins")
    lead = _("The family does the care alone; staff stay near and step in whenever the person needs it.")
    button = _("Sign the start")
    done = _("The stay’s log is open. Write down who is on duty, and each time staff step in.")


class PartForm(WhoForm):
    """One entry of the log of the stay that ``about`` started."""

    part = ""

    def __init__(self, *args: Any, about: Record, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.about = about

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "part": self.part,
            "record": str(self.about.intent),
            "on": iso(data["on"]),
            "time": clock(data["time"]),
        }


class DutyForm(PartForm):
    part = "duty"
    who = who_field(_("On duty"))
    on = DayField(label=_("From"))
    time = ClockField(label=_("At"))
    until_on = DayField(label=_("Until"))
    until_time = ClockField(label=_("Until, at"))
    days = ("on", "until_on")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("until_on", self.picture.day)
        self.initial.setdefault("until_time", self.now.time())

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        until = {"until_on": iso(data["until_on"]), "until_time": clock(data["until_time"])}
        return {**super().body(), "who": data["who"], **until}


class NewDuty(StayDeed):
    about_part = "start"
    form_class = DutyForm
    title = _("Who was on duty")
    lead = _LOG
    button = _("Sign who was on duty")
    done = _("Entered.")

    def get_initial(self) -> dict[str, Any]:
        """From where the log reaches: its first gap, or the start."""
        stay = next(s for s in stays_of(self.file.records, self.family.zone) if s.start is self.record)
        gaps = stay.gaps(self.now)
        begins = (gaps[0][0] if gaps else stay.began).astimezone(self.family.zone)
        ends = (gaps[0][1] if gaps else stay.ended or self.now).astimezone(self.family.zone)
        return {"on": begins.date(), "time": begins.time(), "until_on": ends.date(), "until_time": ends.time()}


class InterventionForm(PartForm):
    part = "intervention"
    on = DayField(label=_("Day"))
    time = ClockField(label=_("Time"))
    reason = words_field(_("Why, and what was done"))
    by_whom = forms.CharField(label=_("Who stepped in"), max_length=200)

    def __init__(self, *args: Any, by: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial.setdefault("by_whom", by)

    def body(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {**super().body(), "reason": data["reason"], "by_whom": data["by_whom"]}


class NewIntervention(StayDeed):
    about_part = "start"
    form_class = InterventionForm
    title = _("Staff stepped in")
    lead = _LOG
    button = _("Sign that staff stepped in")
    done = _("Entered.")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "by": self.member.signed_name}


class EndForm(PartForm):
    part = "end"
    on = DayField(label=_("Ended on"))
    time = ClockField(label=_("At"))
    note = words_field(_("Note"), required=False)

    def body(self) -> dict[str, Any]:
        return {**super().body(), "note": self.cleaned_data["note"]}


class EndStay(StayDeed):
    about_part = "start"
    form_class = EndForm
    title = _("The stay ends")
    lead = _("What is missing in the log can be entered afterwards; a later entry carries both dates.")
    button = _("Sign the end")
    done = _("The stay has ended. Its log counts for nothing by itself; its demonstration is recorded like any other.")


# Reading it back ------------------------------------------------------------------------------------------


class StayView(FamilyView):
    """These pages show the log as known now."""

    @cached_property
    def day(self) -> Any:
        return self.today

    @cached_property
    def stays(self) -> list[Stay]:
        return stays_of(self.file.records, self.family.zone)

    @cached_property
    def words(self) -> RecordWords:
        return RecordWords(self.picture)

    def local(self, instant: datetime | None) -> datetime | None:
        return instant.astimezone(self.family.zone) if instant else None

    def page(self) -> dict[str, Any]:
        return {"family": self.family, "may_record": self.may(Right.RECORD)}


class Stays(StayView):
    """Every stay of a family, newest first."""

    def get(self, request: HttpRequest, family: Any) -> HttpResponse:
        rows = [{"stay": s, "began": self.local(s.began), "ended": self.local(s.ended)} for s in self.stays]
        return render(request, "setup/stays.html", {**self.page(), "rows": rows})


class StayPage(StayView):
    """One stay: how long, who covered how many hours, the gaps, each entry of the log."""

    @cached_property
    def stay(self) -> Stay:
        found = next((s for s in self.stays if s.start.number == self.kwargs["number"]), None)
        if found is None:
            raise Http404
        return found

    def get(self, request: HttpRequest, family: Any, number: int) -> HttpResponse:
        stay = self.stay
        page = {
            **self.page(),
            "stay": stay,
            "start": stay.start,
            "began": self.local(stay.began),
            "ended": self.local(stay.ended),
            "length": duration((stay.ended or self.now) - stay.began),
            "covered": [(self.words.people.get(who, who), duration(time)) for who, time in stay.covered().items()],
            "gaps": [self.gap(begins, ends) for begins, ends in stay.gaps(self.now)],
            "interventions": len(stay.interventions),
            "entries": [self.words.entry(r) for r in (stay.start, *stay.parts)],
            "demonstrations": list(self.demonstrations()),
            "skill": self.skill_title,
        }
        return render(request, "setup/stay.html", page)

    def gap(self, begins: datetime, ends: datetime) -> dict[str, Any]:
        return {"begins": self.local(begins), "ends": self.local(ends), "length": duration(ends - begins)}

    @property
    def skill_title(self) -> str:
        code = self.stay.start.data.get("skill")
        return self.words.words.skill(code).title if code else ""

    def demonstrations(self) -> Iterator[tuple[str, str]]:
        """Where the stay's demonstration is recorded, for each caregiver who was on duty, once it has ended."""
        code, ended = self.stay.start.data.get("skill"), self.local(self.stay.ended)
        if not code or ended is None or self.stay.is_voided:
            return
        began = self.local(self.stay.began)
        asked = {"began": began.date().isoformat()} if began and began.date() < ended.date() else {}
        asked |= {"on": ended.date().isoformat(), "time": f"{ended:%H:%M}"}
        for caregiver in self.picture.caregivers:
            if caregiver.case_id in self.stay.covered():
                address = reverse("start", args=[self.family.public_id, caregiver.public_id, code])
                name = gettext("Record the demonstration of %(name)s") % {"name": caregiver.called}
                yield name, f"{address}?{urlencode(asked)}"
