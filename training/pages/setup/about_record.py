"""Deeds about one record: voiding it, saying which observer's results stand, letting a pass count."""

from __future__ import annotations

import uuid
from functools import cached_property
from typing import Any, ClassVar

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.scoring import Outcome
from training.documents.record_labels import KINDS
from training.pages.setup.deed import VOIDABLE, DeedView
from training.pages.setup.effects import Effects, effects_of
from training.pages.setup.fields import DayField, EntryForm, words_field
from training.pages.templatetags.register import OUTCOME_WORDS
from training.people.access import Right
from training.people.models import Member
from training.records.models import Record
from training.standing.file import CAREGIVER_KEYS, unsaved
from training.standing.questions import FamilyOn, written

LIFTED = frozenset({"edition", "authorisation", "gate"})  # what an override lifts


class RecordView(DeedView):
    """A deed about the record of the address."""

    template_name = "setup/about_record.html"
    from_address: ClassVar[tuple[str, ...]] = ()

    @cached_property
    def record(self) -> Record:
        rows = Record.objects.of_chain(self.family.public_id)
        return get_object_or_404(rows, number=self.kwargs["number"], kind__in=VOIDABLE)

    @property
    def target(self) -> str:
        """How a case calls the record."""
        return str(self.record.intent)

    @property
    def about(self) -> dict[str, Any]:
        """The body's part that the record of the address decides."""
        caregiver = {"caregiver": self.record.data["caregiver"]} if self.kind in CAREGIVER_KEYS else {}
        return {**caregiver, "record": self.target}

    def picture_with(self, **body: Any) -> tuple[FamilyOn, Effects]:
        """The family today with this deed done, and what that changes."""
        made = unsaved(self.family, self.kind, {**self.about, **body}, uuid.uuid4(), self.now)
        return FamilyOn(self.file.with_record(made), self.day), effects_of(self.file, made, self.day)

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "about": self.about}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(record=self.record, summary=summary_of(self.record, self.picture), **kwargs)


class AboutForm(EntryForm):
    reason = words_field(gettext_lazy("Reason"))
    places = {"record": "reason"}

    def __init__(self, *args: Any, about: dict[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.about = about

    def body(self) -> dict[str, Any]:
        return {**self.about, "reason": self.cleaned_data["reason"]}


def summary_of(record: Record, picture: FamilyOn) -> list[tuple[str, str]]:
    """What a record is, in a few lines."""
    body = record.data
    people = {c.case_id: c.full_name for c in picture.file.caregivers}
    lines = [
        (_("Record"), f"{record.number}, {KINDS[record.kind]}"),
        (_("Caregiver"), people.get(body.get("caregiver", ""), "")),
        (_("Skill"), picture.words.skill(body["skill"]).title if body.get("skill") else ""),
        (_("Item"), picture.words.item(body["item"]) if body.get("item") else ""),
        (_("On"), _day(body.get("on") or body.get("from"))),
        (_("Last day"), _day(body.get("through") or body.get("last_day"))),
        (_("Reason"), body.get("reason", "")),
        (_("Signed by"), "{name}, {role}".format(**body["signed"])),
    ]
    return [(label, text) for label, text in lines if text]


def _day(text: str | None) -> str:
    return written(DayField().clean(text)) if text else ""


class VoidRecord(RecordView):
    """By whoever signed the record, while they may still write, or by who decides."""

    asks = frozenset({Right.DECIDE, Right.RECORD, Right.SET_UP})
    kind = "void"
    form_class = AboutForm
    title = gettext_lazy("Void this record")
    lead = gettext_lazy(
        "It stays visible, with your reason, and moves nothing any more. A void is never taken back: what was right is "
        "entered anew."
    )
    button = gettext_lazy("Sign the void")

    def check_allowed(self) -> None:
        super().check_allowed()
        own = self.record.data["signed"]["id"] == self.member.observer_id
        if not own and not self.may(Right.DECIDE):
            raise PermissionDenied(_("Whoever signed a record voids it, or a supervisor."))

    def dispatch_voided(self) -> HttpResponse:
        messages.info(self.request, _("Record %(number)s is voided already.") % {"number": self.record.number})
        return redirect(self.home)

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return self.dispatch_voided() if self.is_voided else super().get(request, *args, **kwargs)

    def form_valid(self, form: AboutForm) -> HttpResponse:
        return self.dispatch_voided() if self.is_voided else super().form_valid(form)

    @property
    def is_voided(self) -> bool:
        return self.target in self.picture.voids()

    def said_done(self, made: Record) -> str:
        return _("Voided. Record %(number)s stays visible, with your reason.") % {"number": self.record.number}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(effects=self.picture_with(reason="-")[1], **kwargs)


class OverrideRecord(RecordView):
    """Only for a pass that gate, authorisation or edition kept out."""

    asks = frozenset({Right.DECIDE})
    kind = "override"
    form_class = AboutForm
    title = gettext_lazy("Let this pass count")
    lead = gettext_lazy("It was passed, and kept out by the rules. You let this one count, by name.")
    button = gettext_lazy("Sign the override")
    done = gettext_lazy("The pass counts, with your reason.")

    def check_allowed(self) -> None:
        super().check_allowed()
        if self.record.kind != "demonstration":
            raise Http404

    def get_form(self, form_class: Any = None) -> forms.Form:
        if not self.was_kept_out:
            raise Http404
        return super().get_form(form_class)

    @property
    def was_kept_out(self) -> bool:
        judged = self.picture.judged(self.record)
        if judged is None or judged.outcome is not Outcome.PASSED or judged.full or judged.overridden:
            return False
        return bool(judged.kept_out) and LIFTED.issuperset(judged.kept_out)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(effects=self.picture_with(reason="-")[1], **kwargs)


class ResolutionForm(AboutForm):
    take = forms.ChoiceField(label=gettext_lazy("Which results stand"), widget=forms.RadioSelect)
    field_order = ["take", "reason", "password"]

    def __init__(self, *args: Any, takes: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["take"].choices = takes

    def body(self) -> dict[str, Any]:
        return {**super().body(), "take": self.cleaned_data["take"]}


class ResolveRecord(RecordView):
    """Where two observers saw a demonstration, say whose results stand; each choice names what would follow."""

    asks = frozenset({Right.DECIDE})
    kind = "resolution"
    form_class = ResolutionForm
    title = gettext_lazy("Two observers")
    lead = gettext_lazy("Say whose results stand. Both stay visible.")
    button = gettext_lazy("Sign the resolution")
    done = gettext_lazy("Resolved. Both observers’ results stay visible.")

    def check_allowed(self) -> None:
        super().check_allowed()
        if not self.record.data.get("second"):
            raise Http404

    def get_form_kwargs(self) -> dict[str, Any]:
        observers = {"lead": self.record.data["observers"][0], "second": self.record.data["second"]["observer"]}
        return {**super().get_form_kwargs(), "takes": [(take, self.says(take, who)) for take, who in observers.items()]}

    def says(self, take: str, observer: str) -> str:
        judged = self.picture_with(take=take)[0].judged(self.record)
        outcome = OUTCOME_WORDS[str(judged.outcome)] if judged else ""
        return f"{self.name_of(observer)}: {outcome}"

    def name_of(self, observer: str) -> str:
        members = Member.objects.visible_to(self.member).select_related("user")
        return next((m.signed_name for m in members if m.observer_id == observer), _("an observer from elsewhere"))
