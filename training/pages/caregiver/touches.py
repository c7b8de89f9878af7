"""What a caregiver does in one touch, with no reason and no password: a pause, and who may see what they are ready for.

Neither takes away anything that was shown, and the same touch twice is one.
"""

from __future__ import annotations

import uuid

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.utils.translation import gettext as _

from competency.fields import RefusedError
from training.pages.caregiver.views import OwnView
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.standing import deeds, pauses
from training.standing.kit import CHECK
from training.standing.told_cards import to_tell


class OneTouch(OwnView):
    """By a posted button only. said: what stands on the page afterwards."""

    said: str

    def post(self, request: HttpRequest, **kwargs: object) -> HttpResponse:
        _found = self.caregiver  # 404 first, to everybody else
        try:
            intent = uuid.UUID(request.POST.get("intent", ""))
        except ValueError:
            return HttpResponseBadRequest()
        try:
            self.write(intent)
        except (RefusedError, AlreadyRecordedError, ChainMovedError):
            messages.error(request, _("That could not be written down just now. Try again, or call your nurse."))
            return self.home
        messages.success(request, self.said)
        return self.home

    def write(self, intent: uuid.UUID) -> None:
        raise NotImplementedError


class NeedPause(OneTouch):
    @property
    def said(self) -> str:
        return _("You are on pause. Nothing you have shown is lost. The people who care with you can see it.")

    def write(self, intent: uuid.UUID) -> None:
        pauses.pause(caregiver=self.caregiver, intent=intent, at=self.now)


class ReadyToGoOn(OneTouch):
    @property
    def said(self) -> str:
        return _("Your nurse can read it now, and will talk with you.")

    def write(self, intent: uuid.UUID) -> None:
        found = pauses.pause_of(self.caregiver, self.picture.records, self.picture.day)
        if found is not None and not found.said:
            pauses.say_ready(caregiver=self.caregiver, open_pause=found, intent=intent, at=self.now)


class TellCard(OneTouch):
    """A card that staff of another family of theirs have seen: told of here by the person, to be seen here too."""

    @property
    def said(self) -> str:
        return _("Your nurse can read it now. Bring the card, so they can look at it.")

    def write(self, intent: uuid.UUID) -> None:
        wanted = self.request.POST.get("card", "")
        offered = to_tell(self.picture, self.caregiver, self.elsewhere)
        card = next((c for c in offered if str(c.record.intent) == wanted), None)
        if card is None:
            return
        body = {
            "caregiver": self.caregiver.case_id,
            "skill": card.skill,
            "dated": card.dated.isoformat(),
            "through": card.through.isoformat() if card.through else None,
            "on": self.picture.day.isoformat(),
        }
        deeds.record(
            family=self.caregiver.family, kind="told_card", body=body, by=self.caregiver, intent=intent, at=self.now
        )


class CheckKit(OneTouch):
    """What the programme lets a caregiver check: their own word, shown as theirs."""

    @property
    def said(self) -> str:
        return _("Thank you. Your nurse can see that you checked it.")

    def write(self, intent: uuid.UUID) -> None:
        body = {
            "caregiver": self.caregiver.case_id,
            "item": self.request.POST.get("item", ""),
            "on": self.picture.day.isoformat(),
        }
        deeds.record(family=self.caregiver.family, kind=CHECK, body=body, by=self.caregiver, intent=intent, at=self.now)


class Agree(OneTouch):
    @property
    def said(self) -> str:
        if self.request.POST.get("agreed") == "yes":
            return _("Others in your family can now see what you are ready for.")
        return _("Others in your family can no longer see what you are ready for.")

    def write(self, intent: uuid.UUID) -> None:
        body = {
            "caregiver": self.caregiver.case_id,
            "agreed": self.request.POST.get("agreed") == "yes",
            "on": self.picture.day.isoformat(),
        }
        deeds.record(
            family=self.caregiver.family, kind="agreement", body=body, by=self.caregiver, intent=intent, at=self.now
        )
