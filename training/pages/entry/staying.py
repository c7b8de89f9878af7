"""How long a session lasts: twelve hours at most, and for a member of an organisation until it is left alone.

The server decides, from what it noted in the session; the page's script only warns. Which requests count as a person's:
every one but the script's own question how long is left, and the bedside's, whose page says by itself when it was
touched and covers itself when it was not.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from math import ceil
from typing import Any
from urllib.parse import urlencode, urlsplit

from django.conf import settings
from django.contrib.auth import logout
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.http import url_has_allowed_host_and_scheme
from django.views import View

from training.pages.entry.lock import address_of

SINCE, SEEN, IS_STAFF = "signed_in_since", "seen", "is_staff"
NOTE_EVERY = 20  # seconds between two notes: a page is many requests


def touch(request: HttpRequest) -> None:
    """A person was here just now."""
    if time.time() - request.session.get(SEEN, 0) >= NOTE_EVERY:
        request.session[SEEN] = time.time()


def begin(request: HttpRequest) -> None:
    """Note who signed in when; once."""
    if SINCE not in request.session:
        request.session[SINCE] = request.session[SEEN] = time.time()
        request.session[IS_STAFF] = request.user.memberships.exists()


def seconds_left(request: HttpRequest) -> float:
    """Until a member who touches nothing is signed out."""
    return float(request.session.get(SEEN, time.time()) + settings.IDLE_MINUTES * 60 - time.time())


def was_left_alone(request: HttpRequest) -> bool:
    return bool(request.session.get(IS_STAFF)) and seconds_left(request) <= 0


def is_over(request: HttpRequest) -> bool:
    if time.time() - request.session.get(SINCE, time.time()) >= settings.SESSION_COOKIE_AGE:
        return True
    return not is_bedside(request) and request.path != reverse("stay-signed-in") and was_left_alone(request)


def is_bedside(request: HttpRequest) -> bool:
    return request.path.startswith(reverse("bedside"))


class SessionsEnd:
    """Ends a session that is over, and leads back to the same page after signing in again."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated:
            begin(request)
            if is_over(request):
                return end(request)
            request.user.asked_from = address_of(request)  # what signing counts wrong passwords by
            if not is_bedside(request) and request.path != reverse("stay-signed-in"):
                touch(request)
        response = self.get_response(request)
        if request.user.is_authenticated:
            begin(request)
        return response


def end(request: HttpRequest) -> HttpResponse:
    there = way_back(request)
    logout(request)
    return redirect(f"{reverse('sign-in')}?{urlencode({'next': there, 'over': 'yes'})}")


def way_back(request: HttpRequest) -> str:
    """The page somebody was on: a post is not sent again, its page is shown."""
    if request.method in ("GET", "HEAD"):
        return request.get_full_path()
    came = request.headers.get("Referer", "")
    if not url_has_allowed_host_and_scheme(came, {request.get_host()}):
        return reverse("home")
    parts = urlsplit(came)
    return f"{parts.path}?{parts.query}" if parts.query else parts.path


class Stay(View):
    """How long is left, without counting as a touch; and, posted, a touch."""

    def get(self, request: HttpRequest) -> HttpResponse:
        is_here = request.user.is_authenticated
        return JsonResponse({"left": max(0, ceil(seconds_left(request))) if is_here else 0})

    def post(self, request: HttpRequest) -> HttpResponse:
        if request.user.is_authenticated and not was_left_alone(request):
            request.session[SEEN] = time.time()
        return self.get(request)


def about(request: HttpRequest) -> dict[str, Any] | None:
    """What a page's script warns with; None for a visitor and for a caregiver, who are not signed out for idling."""
    session = getattr(request, "session", {})
    if not session.get(IS_STAFF) or not request.user.is_authenticated:
        return None
    return {"seconds": round(settings.IDLE_MINUTES * 60), "warn": warning_seconds()}


def warning_seconds() -> int:
    """How long before the end the warning comes: never so early that it stands there all the time."""
    return round(min(settings.IDLE_WARNING_SECONDS, settings.IDLE_MINUTES * 60 / 2))
