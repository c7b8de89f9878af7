"""What base.html needs on every page. A view may override each name."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest

from training.pages.entry import staying


def the_page(request: HttpRequest) -> dict[str, Any]:
    """Name the organisation, the person, their role, their places and the date; empty for a visitor.

    Reads ``request.membership``, ``request.places`` (list of (title, url, current)) and ``request.the_date``, where an
    earlier step has put them.
    """
    membership = getattr(request, "membership", None)
    return {
        "organisation_title": membership.organisation.title if membership else "",
        "person_name": _name_of(getattr(request, "user", None)),
        "role_title": membership.get_role_display() if membership else "",
        "places": getattr(request, "places", ()),
        "the_date": getattr(request, "the_date", None),
        "idle": staying.about(request),
    }


def _name_of(user: Any) -> str:
    if user is None or not user.is_authenticated:
        return ""
    return user.get_full_name() or user.get_username()
