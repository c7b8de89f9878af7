"""The second observer: named, given the tablet, or taken back. They have their own pass over the steps."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from competency.records import Take
from training.pages.recording.addresses import draft_address, pass_address, screen_address
from training.pages.recording.draft_view import DraftView
from training.people.models import Member
from training.standing import drafts


class Second(DraftView):
    """Who else watched; once named, the tablet is handed over here."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.handing_over() if self.draft.data["second"] else self.choosing()

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        chosen = request.POST.get("observer", "")
        if chosen == "nobody":
            drafts.name_second(self.draft, self.lead_attempt, observer=None, at=self.now)
            messages.success(request, _("No second observer is named now."))
            return self.go_on()
        observer = next((m for m in self.may_watch() if m.observer_id == chosen), None)
        if observer is None:
            raise Http404
        drafts.name_second(self.draft, self.lead_attempt, observer=observer, at=self.now)
        return redirect("draft-second", draft=self.draft.public_id)

    def may_watch(self) -> list[Member]:
        return drafts.may_watch_too(self.member, self.draft.caregiver, self.lead_attempt.day)

    def is_qualified(self, observer: Member | None) -> bool:
        asked = self.picture.history.observers
        skill, day = self.draft.data["skill"], self.lead_attempt.day
        return observer is not None and asked.is_qualified(observer.observer_id, skill, day)

    def choosing(self) -> HttpResponse:
        found = [(m, self.is_qualified(m)) for m in self.may_watch()]
        found.sort(key=lambda pair: not pair[1])
        return self.page("second", others=found, day=self.lead_attempt.day, back=self.back())

    def handing_over(self) -> HttpResponse:
        lead = self.lead_attempt
        second = lead.second
        assert second is not None
        onward = pass_address(self.draft, second) or draft_address(self.draft, lead)
        return self.page(
            "second_named",
            is_qualified=self.is_qualified(self.judged.second_member),
            missing=second.missing,
            of=len(second.rows),
            lead_missing=lead.missing,
            onward=onward,
            first=screen_address(self.draft, 1, Take.SECOND),
            back=self.back(),
            day=lead.day,
        )

    def back(self) -> str:
        return pass_address(self.draft, self.lead_attempt) or ""
