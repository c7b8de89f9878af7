"""The answer to a form whose token does not fit: mostly a page left open, now and then another site."""

from __future__ import annotations

import re

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

NEVER_REPEATED = re.compile(r"password|passphrase|secret|one_time|second_factor", re.IGNORECASE)


def page_open_too_long(request: HttpRequest, reason: str = "") -> HttpResponse:
    """Offer the same fields with a fresh token and one button; passwords and files are left out.

    What another site sent is not offered: one touch there would do what the token is there to stop.
    """
    sent = [(name, value) for name, values in request.POST.lists() for value in values if name != "csrfmiddlewaretoken"]
    kept = [(name, value) for name, value in sent if not NEVER_REPEATED.search(name)]
    page = {
        "from_here": sent_from_here(request),
        "address": request.get_full_path(),
        "kept": kept,
        "password_left_out": len(kept) < len(sent),
        "files_left_out": bool(request.FILES),
    }
    return render(request, "page_open_too_long.html", page, status=403)


def sent_from_here(request: HttpRequest) -> bool:
    """Whether no header says that another site sent this. A page cannot set either of the two itself."""
    site = request.headers.get("Sec-Fetch-Site")
    if site is not None:
        return site == "same-origin"
    origin = request.headers.get("Origin")
    return origin is None or origin == f"{request.scheme}://{request.get_host()}"
