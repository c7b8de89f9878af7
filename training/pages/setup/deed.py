"""One view for every signed deed about a family; a kind of deed adds its form and its words."""

from __future__ import annotations

import uuid
from datetime import date
from functools import cached_property
from typing import Any, ClassVar

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.views.generic import FormView

from competency.fields import RefusedError
from training.pages.setup.effects import effects_of, said
from training.pages.setup.fields import EntryForm
from training.pages.views import FamilyView
from training.people.access import Right
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.records.models import Record
from training.standing import deeds
from training.standing.file import CAREGIVER_KEYS, FAMILY_LISTS, FOR_GOOD, OTHER_KINDS, open_file
from training.standing.signing import signed_by

VOIDABLE = (FAMILY_LISTS.keys() | CAREGIVER_KEYS.keys() | OTHER_KINDS) - {"void", "qualification"} - FOR_GOOD


class DeedView(FamilyView, FormView):
    """Show a form, judge it, write one record, say what it changed.

    A stranger to the family gets 404 before a colleague without the right gets 403.
    asks: the rights of which one is enough. kind: the record's. nothing: said where a choice offers nothing.
    """

    right = Right.READ
    asks: ClassVar[frozenset[Right]]
    kind: ClassVar[str]
    title: Promise
    lead: Promise | str = ""
    button: Promise
    done: Promise
    nothing: Promise | str = ""
    template_name = "setup/deed.html"
    from_address: ClassVar[tuple[str, ...]] = ("caregiver", "skill")

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        there = self.written_before()
        return self.answer(there) if there is not None else super().post(request, *args, **kwargs)

    def check_allowed(self) -> None:
        """Find the family, then ask for the right. Raises Http404 and PermissionDenied."""
        if self.family and not any(self.may(right) for right in self.asks):
            raise PermissionDenied

    def written_before(self) -> Record | None:
        """The record that this very post is already."""
        try:
            intent = uuid.UUID(self.request.POST.get("intent", ""))
        except ValueError:
            return None
        return Record.objects.filter(chain=self.family.public_id, kind=self.kind, intent=intent).first()

    @cached_property
    def day(self) -> date:
        """A deed is done today, where the patient is."""
        return self.today

    def get_initial(self) -> dict[str, Any]:
        return {name: self.request.GET[name] for name in self.from_address if name in self.request.GET}

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user, "picture": self.picture, "now": self.now}

    def form_valid(self, form: EntryForm) -> HttpResponse:
        try:
            made = self.write(form)
        except RefusedError as refusal:
            form.refuse(refusal, dict(form.places))
            return self.form_invalid(form)
        except (AlreadyRecordedError, ChainMovedError):
            form.add_error(None, _("Somebody wrote in this file at the same time. Nothing was signed; send it again."))
            return self.form_invalid(form)
        return self.answer(made)

    def write(self, form: EntryForm) -> Record:
        return deeds.record(
            family=self.family,
            kind=self.kind,
            body=form.body(),
            by=self.member,
            intent=form.cleaned_data["intent"],
            at=self.now,
        )

    def answer(self, made: Record) -> HttpResponse:
        effects = effects_of(open_file(self.family), made, self.today)
        messages.success(self.request, " ".join(filter(None, [self.said_done(made), said(effects)])))
        return redirect(self.home)

    def said_done(self, made: Record) -> str:
        return str(self.done)

    @property
    def home(self) -> str:
        """Where the page came from, and goes after the deed."""
        return reverse("family", args=[self.family.public_id])

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            family=self.family,
            title=self.title,
            lead=self.lead,
            button=self.button,
            nothing=self.nothing,
            home=self.home,
            today=self.today,
            signing=signed_by(self.member, kind=self.kind, at=self.now, family=self.family),
            is_voidable=self.kind in VOIDABLE,
            **kwargs,
        )
