"""What pages say of hand-overs and closings wherever a family stands."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import template
from django.utils.translation import gettext_lazy as _

from training.handover.models import Offer
from training.people.models import Family
from training.standing.questions import FamilyOn, written

register = template.Library()
AGES = {
    "infant": _("under 1 year"),
    "young_child": _("1 to 4 years"),
    "child": _("5 to 12 years"),
    "teenager": _("13 to 17 years"),
    "adult": _("adult"),
}


@register.simple_tag
def age_word(code: str) -> str:
    return str(AGES.get(code, code))


@register.simple_tag
def offer_word(state: str) -> str:
    return str(Offer.Ended(state).label)


@register.simple_tag
def iso_day(text: str) -> str:
    """A day that a record writes, in words; what is no day stays as it was typed."""
    try:
        return written(date.fromisoformat(text))
    except (TypeError, ValueError):
        return str(text)


@register.inclusion_tag("handover/_notice.html")
def handover_notice(family: Family, day: date) -> dict[str, Any]:
    """One line each: offered and waiting, handed over, taken over from somebody."""
    waiting = next((o for o in family.offers.waiting() if o.is_open_on(day)), None)
    return {
        "family": family,
        "offer": waiting,
        "is_handed_over": family.is_handed_over_on(day),
        "came_from": Offer.objects.filter(made=family).first(),
    }


@register.inclusion_tag("handover/_closed.html")
def closed_notice(family: Family, may: dict[str, bool]) -> dict[str, Any]:
    return {"family": family, "may": may, "before": family.closed_on - timedelta(days=1) if family.closed_on else None}


@register.inclusion_tag("handover/_outside.html")
def outside_evidence(picture: FamilyOn) -> dict[str, Any]:
    """Papers from outside that are not voided, of the picture's day and before."""
    voids = picture.voids()
    people = {c.case_id: c.called for c in picture.file.caregivers}
    found = [r for r in picture.records if r.kind == "outside_evidence" and str(r.intent) not in voids]
    rows = [
        {"record": r, "about": people.get(r.data["caregiver"] or "", "")}
        for r in found
        if date.fromisoformat(r.data["on"]) <= picture.day
    ]
    return {"family": picture.family, "rows": rows}
