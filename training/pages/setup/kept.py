"""The base of every deed whose record the rules do not read: it changes no standing, so none is told of."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect
from django.utils.functional import cached_property

from training.pages.setup.deed import DeedView
from training.people.access import Right
from training.records.models import Record


class KeptView(DeedView):
    """Signed by whoever may record. about_part: the part of the record in the address, where the address names one."""

    asks = frozenset({Right.RECORD})
    about_part: ClassVar[str] = ""

    def answer(self, made: Record) -> HttpResponse:
        messages.success(self.request, self.said_done(made))
        return redirect(self.after(made))

    def after(self, made: Record) -> str:
        return self.home

    @cached_property
    def record(self) -> Record:
        """The record in the address; 404 where it is of another kind or part, or voided."""
        found = next((r for r in self.file.records if r.number == self.kwargs["number"]), None)
        named = found is not None and (found.kind, found.data.get("part")) == (self.kind, self.about_part)
        if found is None or not named or str(found.intent) in self.picture.voids():
            raise Http404
        return found

    def get_form_kwargs(self) -> dict[str, Any]:
        about = {"about": self.record} if self.about_part else {}
        return {**super().get_form_kwargs(), **about}
