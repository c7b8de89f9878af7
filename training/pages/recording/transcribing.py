"""Typing in a paper checklist: what was typed is checked and shown, and then signed, on one page."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _

from competency.fields import RefusedError
from competency.programme import Edition
from training.pages.recording import words
from training.pages.recording.draft_view import to_record
from training.pages.recording.judged import JudgedDraft
from training.pages.recording.transcribing_form import PaperForm
from training.pages.templatetags.register import STEP_WORDS
from training.pages.views import FamilyView
from training.people.access import Right, may
from training.people.models import Member
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.records.models import Record
from training.standing import deeds
from training.standing.questions import FamilyOn
from training.standing.signing import signed_by


class Transcribe(FamilyView):
    """The form of one edition, as printed on the paper. First it is checked and shown, then signed with the password.

    What is signed is what was shown: its digest travels with the form.
    """

    right = Right.RECORD

    @cached_property
    def edition(self) -> Edition:
        """The edition of the address; 404 where there is none of this number, or it has no steps."""
        found = self.file.rules.skills[self.skill].edition(self.kwargs["edition"])
        if found is None or not found.steps:
            raise Http404
        return found

    @cached_property
    def picture(self) -> FamilyOn:
        """It is typed in today, whatever date the address asks for."""
        return FamilyOn(self.file, self.today)

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(self.form(is_signing=False))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        there = self.written_before()
        if there is not None:
            return to_record(request, there)
        form = self.form(request.POST, is_signing="sign" in request.POST)
        if not form.is_valid():
            return self.show(form, self.judged(form) if set(form.errors) <= {"password", "second_factor"} else None)
        judged = self.judged(form)
        if judged is None or "sign" not in request.POST:
            return self.show(form, judged)
        if judged.digest != request.POST.get("shown"):
            form.add_error(None, _("The text to sign has changed. It stands here as it is now; nothing was signed."))
            return self.show(form, judged)
        return self.sign(form, judged)

    def form(self, *args: Any, is_signing: bool) -> PaperForm:
        return PaperForm(
            *args,
            user=self.request.user,
            file=self.file,
            caregiver=self.caregiver,
            skill=self.skill,
            edition=self.edition,
            by=self.member,
            observers=self.observers(),
            now=self.now,
            is_signing=is_signing,
        )

    def observers(self) -> Iterator[Member]:
        """Members who may record, or of whom it was ever stated what they may assess; those who have left too."""
        stated = {r.data["observer"] for r in self.file.staff_records if r.kind == "qualification"}
        for member in Member.objects.visible_to(self.member).select_related("user"):
            if may(member, Right.RECORD) or member.observer_id in stated:
                yield member

    def written_before(self) -> Record | None:
        """The record that this very post is already."""
        try:
            intent = uuid.UUID(self.request.POST.get("intent", ""))
        except ValueError:
            return None
        return Record.objects.filter(chain=self.family.public_id, kind="demonstration", intent=intent).first()

    def judged(self, form: PaperForm) -> JudgedDraft | None:
        """What was typed, as it would be judged; None where the rules refuse it, and the form then says why."""
        judged = JudgedDraft(form.draft(), self.file, self.picture, self.now)
        try:
            _made = judged.preview
        except RefusedError as refusal:
            form.refuse_record(refusal)
            return None
        return judged

    def sign(self, form: PaperForm, judged: JudgedDraft) -> HttpResponse:
        followed = [str(bring) for bring in words.brings(judged.preview)]
        try:
            record = deeds.record(
                family=self.family,
                kind="demonstration",
                body={**judged.body, "shown": judged.digest},
                by=self.member,
                intent=form.cleaned_data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            form.refuse_record(refusal)
            return self.show(form)
        except (AlreadyRecordedError, ChainMovedError):
            form.add_error(None, _("Somebody wrote in this file at the same time. Nothing was signed; send it again."))
            return self.show(form, judged)
        messages.success(self.request, _("Signed. Record %(number)s is in the file.") % {"number": record.number})
        for line in followed:
            messages.success(self.request, line)
        return redirect("record", family=self.family.public_id, number=record.number)

    def show(self, form: PaperForm, judged: JudgedDraft | None = None) -> HttpResponse:
        page: dict[str, Any] = {
            "form": form,
            "rows": form.rows,
            "results": STEP_WORDS,
            "family": self.family,
            "caregiver": self.caregiver,
            "skill": self.file.words.skill(self.skill),
            "edition": self.edition,
            "in_force": self.file.rules.skills[self.skill].in_force(self.today),
            "notice": self.file.words.notice,
            "judged": judged,
        }
        if judged is not None:
            shown = judged.shown()
            page |= {
                **shown,
                "rows": form.rows,
                "rows_judged": shown["rows"],
                "left_out": form.left_out,
                "signing": signed_by(
                    self.member, kind="demonstration", at=self.now, family=self.family, body=judged.body
                ),
            }
        return render(self.request, "recording/transcribe.html", page)
