"""What the bar of a signed-in person's page says to the bedside's scripts. Load with ``{% load bedside %}``."""

from __future__ import annotations

from typing import Any

from django import template
from django.urls import reverse

from training.pages.bedside.pack import initials
from training.people.access import Right, may
from training.people.models import Family

register = template.Library()


@register.inclusion_tag("bedside/_top.html", takes_context=True)
def bedside_top(context: template.Context) -> dict[str, Any]:
    """Who is here, and the pack of the family the page is about; nothing where the view has found no member."""
    member = getattr(context.get("request"), "membership", None)
    if member is None:
        return {"member": ""}
    family = context.get("family")
    is_family = isinstance(family, Family) and family.closed_on is None
    return {
        "member": member.observer_id,
        "initials": initials(member),
        "may_record": may(member, Right.RECORD),
        "pack_url": reverse("bedside-pack", kwargs={"family": family.public_id}) if is_family else "",
    }
