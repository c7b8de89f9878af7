"""The answer when a deed could not be written: the disk is full, the connection broke, or another deed was first."""

from __future__ import annotations

import logging
import sys
import uuid
from collections.abc import Callable, Iterator

from django.db import Error, InterfaceError, OperationalError
from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.defaults import server_error

from training.pages.entry.staying import way_back
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.records.models import Record
from training.standing.models import Draft

log = logging.getLogger("training.pages")


class CannotSave:
    """Answers a view that the database failed with a page in plain words instead of a bare error."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, error: Exception) -> HttpResponse | None:
        if isinstance(error, AlreadyRecordedError | ChainMovedError):
            return another_was_first(request)
        return cannot_save(request, error) if isinstance(error, OperationalError | InterfaceError) else None


def stopped_half_way(request: HttpRequest) -> HttpResponse:
    """The site's answer to any other failure; a database that failed outside a view is still told apart."""
    error = sys.exc_info()[1]
    if isinstance(error, OperationalError | InterfaceError):
        return cannot_save(request, error)
    return server_error(request)


def cannot_save(request: HttpRequest, error: Exception) -> HttpResponse:
    """Say whether anything was signed, and where to go on. The page itself asks nothing of the database."""
    view = request.resolver_match.view_name if request.resolver_match else "no view"
    log.error("The database failed during %s of %s: %s", request.method, view, str(error).partition("\n")[0])
    page = {
        "is_post": request.method == "POST",
        "is_signed": is_signed(request),
        "draft": draft_kept(request),
        "address": request.get_full_path(),
    }
    return HttpResponse(render_to_string("cannot_save.html", page), status=503, headers={"Cache-Control": "no-store"})


def another_was_first(request: HttpRequest) -> HttpResponse:
    """For a page that has no answer of its own: what was posted is another record already, or others kept writing."""
    page = render_to_string("another_was_first.html", {"address": way_back(request)})
    return HttpResponse(page, status=409, headers={"Cache-Control": "no-store"})


def is_signed(request: HttpRequest) -> bool | None:
    """Whether what was posted is a record by now; None where the database does not say.

    A failure may come after the commit, and a connection that broke during it leaves the matter open. A record's
    intent is in the address or the form, so it is looked for; a post that carries none is not answered for.
    """
    intents = set(_intents(request))
    if not intents:
        return None
    try:
        return Record.objects.filter(intent__in=intents).exists()
    except Error:
        return None


def draft_kept(request: HttpRequest) -> uuid.UUID | None:
    """The draft of this address, if it is still there."""
    draft = request.resolver_match.kwargs.get("draft") if request.resolver_match else None
    try:
        return draft if draft and Draft.objects.filter(public_id=draft).exists() else None
    except Error:
        return None


def _intents(request: HttpRequest) -> Iterator[uuid.UUID]:
    """The unique ids that came with the request; a draft's is its record's intent."""
    if request.resolver_match and "draft" in request.resolver_match.kwargs:
        yield request.resolver_match.kwargs["draft"]
    for _name, values in request.POST.lists():
        for value in values:
            try:
                yield uuid.UUID(value)
            except ValueError:
                continue
