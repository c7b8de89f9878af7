"""What a device asks for while it has a connection: the pack of a family, a token, a receipt, a way past the lock."""

from __future__ import annotations

import json
import uuid
from typing import Any

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.urls import reverse
from django.utils.translation import gettext as _

from training.pages.bedside.pack import initials, pack_of
from training.pages.entry import gate, staying
from training.pages.entry.lock import address_of
from training.pages.views import FamilyView, MemberView
from training.people.access import Right
from training.standing.arriving import NotTakenError, Receipt, arrive
from training.standing.questions import FamilyOn

LARGEST = 100_000


class Pack(FamilyView):
    """What the form needs for one family today, and no more of anybody than that."""

    right = Right.RECORD

    def get(self, request: HttpRequest, family: uuid.UUID) -> HttpResponse:
        return JsonResponse(pack_of(FamilyOn(self.file, self.today), self.member, self.now))


class Token(MemberView):
    """Who is signed in, and the token that a post needs. Fetched each time; a device keeps no token.

    ``?here=yes`` is sent when a person has touched the page: that, and no timer, keeps the session from ending.
    """

    right = Right.RECORD

    def get(self, request: HttpRequest) -> HttpResponse:
        if "here" in request.GET and not staying.was_left_alone(request):
            staying.touch(request)
        return JsonResponse(
            {
                "token": get_token(request),
                "member": self.member.observer_id,
                "initials": initials(self.member),
                "signed_in_at": request.user.last_login.isoformat() if request.user.last_login else None,
            }
        )


class Arrive(MemberView):
    """Take one recording in, and give its receipt. Refused with every reason; what is refused stays on the device."""

    right = Right.RECORD

    def post(self, request: HttpRequest) -> HttpResponse:
        if request.content_type != "application/json" or len(request.body) > LARGEST:
            return _unreadable()
        try:
            sent = json.loads(request.body)
        except (ValueError, RecursionError):
            return _unreadable()
        try:
            receipt = arrive(author=self.member, sent=sent, at=self.now)
        except NotTakenError as refusal:
            found = [{"code": r.code, "path": r.path, "text": str(r)} for r in refusal.reasons]
            is_strange = [r.code for r in refusal.reasons] == ["caregiver"]
            return JsonResponse({"refused": found}, status=404 if is_strange else 422)
        return JsonResponse({"intent": str(receipt.intent), **_where(receipt)})


def _unreadable() -> HttpResponse:
    return JsonResponse({"refused": [{"code": "shape", "path": "", "text": _("It cannot be read.")}]}, status=400)


def _where(receipt: Receipt) -> dict[str, Any]:
    """Where it goes on: the record once it is signed, the author's draft until then."""
    if receipt.record is not None:
        record = receipt.record
        return {"record": reverse("record", kwargs={"family": record.chain, "number": record.number})}
    assert receipt.draft is not None
    return {"draft": reverse("draft", kwargs={"draft": receipt.draft.public_id})}


class Unlock(MemberView):
    """Whether the password is that of the person signed in. Changes nothing."""

    right = Right.RECORD

    def post(self, request: HttpRequest) -> HttpResponse:
        try:
            found = gate.known(
                username=request.user.username,
                password=request.POST.get("password", ""),
                address=address_of(request),
            )
        except gate.LockedOutError:
            return HttpResponse(status=429)
        if found != request.user:
            return HttpResponse(status=403)
        staying.touch(request)
        return HttpResponse(status=204)
