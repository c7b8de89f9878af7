"""Where anybody asks whether a document is genuine and still the newest. The answer names nobody."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.utils.decorators import method_decorator
from django.utils.translation import gettext as _
from django.views import View
from django.views.decorators.csrf import csrf_exempt, csrf_protect

from training.invitations.tries import TooManyTriesError, check_not_too_many, count_one
from training.issuing.checking import Found, State, check
from training.pages.checking.forms import CheckForm
from training.pages.checking.uploads import LARGEST, DigestOnly
from training.pages.entry.lock import address_of

TRIED, AT_MOST = "document", 30  # that many without an answer in a quarter of an hour, from one address
WITH_WORDS = LARGEST + 64 * 1024  # bytes of a form that holds the largest file


class CheckView(View):
    """The clock is read here, once."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.now = timezone.now()
        try:
            answer = super().dispatch(request, *args, **kwargs)
        except TooManyTriesError:
            answer = render(request, "checking/wait.html", status=429)
        answer["Cache-Control"] = "private, no-store"
        return answer

    def look_up(self, *, number: str, digest: str = "") -> Found:
        """Raises TooManyTriesError."""
        address = address_of(self.request)
        check_not_too_many(address, self.now, TRIED, AT_MOST, is_guessable=False)
        found = check(number=number, digest=digest, now=self.now)
        if found.state in (State.UNKNOWN, State.NOT_OURS, State.ALTERED):
            count_one(address, self.now, TRIED)
        return found

    def show(self, form: CheckForm, found: Found | None = None, status: int = 200) -> HttpResponse:
        return render(self.request, "checking/check.html", {"form": form, "found": found}, status=status)


@method_decorator(csrf_exempt, name="dispatch")  # asked below instead, once it is settled who reads the file
class CheckDocument(CheckView):
    """A number that is typed, a file that is put in, or both."""

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.reader = DigestOnly(request)
        request.upload_handlers = [self.reader]
        answer: HttpResponse = csrf_protect(super().dispatch)(request, *args, **kwargs)
        return answer

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.show(CheckForm())

    def post(self, request: HttpRequest) -> HttpResponse:
        form = CheckForm(request.POST, request.FILES, refused=self._refused())
        if not form.is_valid():
            return self.show(form)
        file = form.cleaned_data["file"]
        number = form.cleaned_data["number"]
        found = self.look_up(number=number, digest=file.digest if file else "")
        return self.show(CheckForm(initial={"number": found.number or number}), found)

    def _refused(self) -> str:
        """Why the file cannot be compared; nothing where it was, or where there was none."""
        if self.reader.is_too_large:
            return _("This file is larger than 20 MB, so it is none of ours.")
        return _("A zip is not compared. Take the PDF out of it and choose that.") if self.reader.is_zip else ""


class CheckNumber(CheckView):
    """Where the code on a document leads."""

    def get(self, request: HttpRequest, number: str) -> HttpResponse:
        found = self.look_up(number=number)
        return self.show(CheckForm(initial={"number": found.number}), found)
