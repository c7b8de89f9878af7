"""The drafts of one sitting: each shown as it will stand, ticked, and signed with one password."""

from __future__ import annotations

import uuid
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from competency.fields import RefusedError
from training.pages.recording import words
from training.pages.recording.draft_view import signed_already
from training.pages.recording.forms import SignForm
from training.pages.recording.judged import JudgedDraft
from training.pages.recording.signing import local_time
from training.pages.views import FamilyView
from training.people.access import Right
from training.records.models import Record
from training.standing import deeds
from training.standing.file import unsaved
from training.standing.models import Draft
from training.standing.questions import FamilyOn
from training.standing.signing import MEANINGS


class SignTogether(FamilyView):
    """All of the author's drafts of one family that are ready; what is ticked is signed, a record each, all or none."""

    right = Right.RECORD

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(SignForm(user=request.user))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        signed = [signed_already(intent, self.member) for intent in self.ticked]
        if self.ticked and all(record is not None and record.chain == self.family.public_id for record in signed):
            return self.to_records([record for record in signed if record is not None], is_again=True)
        form = SignForm(request.POST, user=request.user)
        if not self.ticked:
            form.add_error(None, _("Tick at least one. Nothing was signed."))
        if not form.is_valid():
            return self.show(form)
        return self.sign(form)

    @cached_property
    def ticked(self) -> list[uuid.UUID]:
        found = []
        for text in self.request.POST.getlist("draft"):
            try:
                found.append(uuid.UUID(text))
            except ValueError:
                continue  # no draft has such an address
        return list(dict.fromkeys(found))

    # What can be signed -------------------------------------------------------------------------------------

    @cached_property
    def drafts(self) -> list[Draft]:
        rows = Draft.objects.visible_to(self.member).filter(caregiver__family=self.family)
        rows = rows.select_related("author__user", "caregiver__family__organisation")
        return sorted(rows, key=deeds.signing_order)

    def judged(self, wanted: list[Draft]) -> tuple[list[JudgedDraft], list[Draft]]:
        """The drafts that can be signed, each judged as if those before it were signed too; and the others."""
        ready, others, file = [], [], self.file
        for draft in wanted:
            one = JudgedDraft(draft, file, FamilyOn(file, self.today), self.now)
            if self.can_be_signed(one):
                ready.append(one)
                file = file.with_record(unsaved(self.family, "demonstration", one.body, draft.intent, self.now))
            else:
                others.append(draft)
        return ready, others

    def can_be_signed(self, one: JudgedDraft) -> bool:
        if not one.is_ready or one.observes_themself:
            return False
        try:
            _seen = one.preview
        except RefusedError:
            return False
        return True

    # Signing --------------------------------------------------------------------------------------------------

    def sign(self, form: SignForm) -> HttpResponse:
        ready, _others = self.judged([draft for draft in self.drafts if draft.intent in self.ticked])
        shown = {intent: self.request.POST.get(f"shown-{intent}", "") for intent in self.ticked}
        try:
            if not {one.draft.intent for one in ready}.issuperset(set(shown) - self.signed_meanwhile()):
                raise deeds.DraftMovedError(self.family.public_id)
            followed = [str(bring) for one in ready for bring in words.brings(one.preview)]
            records = deeds.sign_drafts(family=self.family, shown=shown, by=self.member, at=self.now)
        except deeds.DraftMovedError:
            form.add_error(
                None, _("What was to be signed has changed. It stands here as it is now; nothing was signed.")
            )
            return self.show(form)
        except RefusedError as refusal:
            for problem in refusal.problems:
                form.add_error(None, f"{problem.path}: {problem.message}.")
            return self.show(form)
        return self.to_records(records, followed)

    def signed_meanwhile(self) -> set[uuid.UUID]:
        """Those of the ticked that the same post, sent twice, has made records of since this one began."""
        rows = Record.objects.of_chain(self.family.public_id).filter(intent__in=self.ticked)
        return set(rows.values_list("intent", flat=True))

    def to_records(
        self, records: list[Record], followed: list[str] | None = None, *, is_again: bool = False
    ) -> HttpResponse:
        numbers = sorted(record.number for record in records)
        listed = {"numbers": ", ".join(str(number) for number in numbers)}
        if is_again:
            messages.info(self.request, _("This is signed already, once: %(numbers)s.") % listed)
        else:
            said = ngettext(
                "Signed. Record %(numbers)s is in the file.",
                "Signed. Records %(numbers)s are in the file.",
                len(numbers),
            )
            messages.success(self.request, said % listed)
        for line in dict.fromkeys(followed or ()):
            messages.success(self.request, line)
        return redirect("family", family=self.family.public_id)

    def show(self, form: SignForm) -> HttpResponse:
        for stale in ("drafts", "file"):
            self.__dict__.pop(stale, None)  # after a refusal what is shown is what is there now
        ready, others = self.judged(self.drafts)
        is_first_look = not form.is_bound
        page = {
            "form": form,
            "family": self.family,
            "ones": [{**one.shown(), "is_ticked": is_first_look or one.draft.intent in self.ticked} for one in ready],
            "others": [(draft, self.file.words.skill(draft.data["skill"])) for draft in others],
            "meaning": MEANINGS["demonstration"],
            "signed_as": self.member,
            "time": local_time(self),
        }
        return render(self.request, "recording/together.html", page)
