"""What every answer of the site has in common."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.urls import Resolver404, resolve

from training.log.writing import at_view


class ViewsAreNamedInTheLog:
    """The log names the view in which something was done or read; its address, with ids in it, is not kept."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        with at_view(self.name_of(request)):
            return self.get_response(request)

    @staticmethod
    def name_of(request: HttpRequest) -> str:
        try:
            return resolve(request.path_info).view_name or ""
        except Resolver404:
            return ""


class SignedInAnswersAreNotKept:
    """No browser or proxy keeps a page that a signed-in person was shown: devices on a ward are shared."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        was_signed_in = settings.SESSION_COOKIE_NAME in request.COOKIES or is_signed_in(request)
        response = self.get_response(request)
        if was_signed_in or is_signed_in(request):
            response["Cache-Control"] = "private, no-store"
        return response


def is_signed_in(request: HttpRequest) -> bool:
    """Whether somebody is; False as long as nobody has asked."""
    user = getattr(request, "user", None)
    return user is not None and user.is_authenticated


class NothingIsAskedOfTheDevice:
    """No page of the site, and nothing it could ever load, may use the camera and the like."""

    POLICY = "camera=(), microphone=(), geolocation=(), payment=(), usb=(), browsing-topics=()"

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        response = self.get_response(request)
        response["Permissions-Policy"] = self.POLICY
        return response
