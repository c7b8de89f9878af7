"""What one organisation of the demo offers to the other."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from training.exchange.demo.days import day_of
from training.exchange.demo.people import Home, intent
from training.handover.deeds import offer_family
from training.handover.models import Offer
from training.handover.summary import summary_of
from training.people.models import Family
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def offer(about: dict[str, Any], family: Family, home: Home, to: Home, now: datetime) -> Offer:
    """about: ``to`` (the other organisation's key), ``reason``, ``note``, ``home_on`` as a distance from today."""
    today = family.today(now)
    return offer_family(
        family=family,
        to=to.organisation,
        reason=about["reason"],
        home_on=day_of(about["home_on"], today),
        note=about.get("note", ""),
        shown=summary_of(FamilyOn(open_file(family), today)),
        by=home.supervisor,
        intent=intent(family.public_id, "offer"),
        at=now,
    )
