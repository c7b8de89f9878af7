"""The navigation's word for what is offered to the organisation, while something is."""

from __future__ import annotations

from datetime import datetime

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from training.handover.models import Offer
from training.people.access import Right, may
from training.people.models import Member


def offers_place(member: Member, request: HttpRequest, now: datetime) -> list[tuple[str, str, bool]]:
    """Title, address, whether it is the page's own; nothing while nothing waits, and for who does not record."""
    if not may(member, Right.RECORD):
        return []
    count = sum(offer.is_open(now) for offer in Offer.objects.visible_to(member).waiting())
    url = reverse("offers")
    return [(_("Offered to us (%(n)s)") % {"n": count}, url, request.path == url)] if count else []
