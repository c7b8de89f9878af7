"""What every page about a draft starts from: the author's own draft, or the record it has become."""

from __future__ import annotations

import uuid
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from competency.records import Take
from training.log.writing import About, about
from training.pages.recording import words
from training.pages.recording.addresses import draft_address, to
from training.pages.recording.judged import JudgedDraft, second_member
from training.pages.recording.last_time import LastTime, last_time
from training.pages.views import MemberView
from training.people.access import Right
from training.people.models import Family, Member
from training.records.models import Record
from training.standing.drafts import Attempt, NoSecondError
from training.standing.file import FamilyFile, open_file
from training.standing.models import Draft
from training.standing.questions import FamilyOn


class SignedAlreadyError(Exception):
    """The draft of this address is a record by now."""

    def __init__(self, record: Record) -> None:
        self.record = record
        super().__init__(record.number)


def signed_already(intent: uuid.UUID, member: Member) -> Record | None:
    """The record this member signed under this intent, which is its draft's address too."""
    visible = Family.objects.visible_to(member).values("public_id")
    record = Record.objects.filter(chain__in=visible, intent=intent, kind="demonstration").first()
    return record if record is not None and record.data["signed"]["id"] == str(member.public_id) else None


def to_record(request: HttpRequest, record: Record) -> HttpResponse:
    """Lead to what was signed before: the back button, a reload, the same post twice."""
    messages.info(request, _("This is signed already, once: record %(number)s.") % {"number": record.number})
    return redirect("record", family=record.chain, number=record.number)


class DraftView(MemberView):
    """A page about one draft, which belongs to its author alone. A signed one leads to its record.

    whose: of the two observers, whose results the page is about.
    """

    right = Right.RECORD
    whose = Take.LEAD

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            try:
                return super().dispatch(request, *args, **kwargs)
            except Draft.DoesNotExist:
                return to_record(request, self.record_or_404())
        except SignedAlreadyError as signed:
            return to_record(request, signed.record)
        except NoSecondError:
            return redirect(to(self.draft, "draft-second"))

    def record_or_404(self) -> Record:
        record = signed_already(self.kwargs["draft"], self.member)
        if record is None:
            raise Http404
        return record

    @cached_property
    def draft(self) -> Draft:
        own = Draft.objects.visible_to(self.member).select_related(
            "caregiver__family__organisation", "caregiver__family__enrolment__programme"
        )
        draft = own.filter(public_id=self.kwargs["draft"]).first()
        if draft is None:
            raise SignedAlreadyError(self.record_or_404())
        return draft

    @property
    def family(self) -> Family:
        return self.draft.caregiver.family

    def reading(self) -> tuple[str, About | None]:
        return "draft", about(self.family)

    @cached_property
    def file(self) -> FamilyFile:
        return open_file(self.family)

    @cached_property
    def picture(self) -> FamilyOn:
        return FamilyOn(self.file, self.family.today(self.now))

    @property
    def judged(self) -> JudgedDraft:
        return JudgedDraft(self.draft, self.file, self.picture, self.now)

    @property
    def lead_attempt(self) -> Attempt:
        return Attempt(self.picture.history, self.file.words, self.draft, self.now)

    @property
    def attempt(self) -> Attempt:
        """The attempt as the observer saw it whose results the page is about. Raises NoSecondError."""
        attempt = self.lead_attempt if self.whose is Take.LEAD else self.lead_attempt.second
        if attempt is None:
            raise NoSecondError
        return attempt

    @cached_property
    def last(self) -> LastTime | None:
        return last_time(self.picture, self.draft.caregiver, self.draft.data["skill"])

    def go_on(self) -> HttpResponse:
        return redirect(draft_address(self.draft, self.lead_attempt))

    def beginning(self) -> str:
        """What lies before the first question of this pass."""
        return to(self.draft, "draft" if self.whose is Take.LEAD else "draft-second")

    def kept_at(self) -> str:
        """When the draft last changed, where the family lives; with its day, unless that is today."""
        local = self.draft.changed_at.astimezone(self.family.zone)
        is_today = local.date() == self.family.today(self.now)
        return date_format(local, "TIME_FORMAT" if is_today else "DATETIME_FORMAT")

    def page(self, template: str, **page: Any) -> HttpResponse:
        data = self.draft.data
        second = second_member(self.draft)
        about = {
            "draft": self.draft,
            "family": self.family,
            "caregiver": self.draft.caregiver,
            "skill": self.file.words.skill(data["skill"]),
            "purpose": words.PURPOSES[data["purpose"]],
            "is_assessment": data["purpose"] == "assessment",
            "kept_at": self.kept_at(),
            "second": second,
            "answering": self.answering(second),
            "is_seconds": self.whose is Take.SECOND,
        }
        return render(self.request, f"recording/{template}.html", {**about, **page})

    def answering(self, second: Member | None) -> str:
        """Whose results the page takes, where two observers give theirs."""
        if second is None:
            return ""
        if self.whose is Take.SECOND:
            return _("Results of %(name)s, second observer") % {"name": second.signed_name}
        return _("Results of %(name)s, lead observer") % {"name": self.member.signed_name}
