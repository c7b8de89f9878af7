"""What every answer of the site has in common."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse


class SignedInAnswersAreNotKept:
    """No browser or proxy keeps a page that a signed-in person was shown: devices on a ward are shared."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        signed_in_before = request.user.is_authenticated
        response = self.get_response(request)
        if signed_in_before or request.user.is_authenticated:
            response["Cache-Control"] = "private, no-store"
        return response
