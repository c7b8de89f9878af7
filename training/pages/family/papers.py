"""Documents about one family, handed out as files to print."""

from __future__ import annotations

from datetime import datetime
from functools import cached_property
from typing import Any, ClassVar

from django.contrib import messages
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from training.documents.emergency_sheet import render_emergency_sheet
from training.documents.emergency_sheet_of import emergency_sheet_of
from training.documents.family_copy import render_family_copy
from training.documents.family_copy_of import family_copy_of
from training.documents.person_record import PersonRecord, render_person_record
from training.documents.person_record_of import person_record_of
from training.documents.remaining import render_remaining
from training.issuing.basis import Basis
from training.pages.caregiver.remaining import remaining_of
from training.pages.handing_out import HandsOut, Render
from training.pages.templatetags.register import outcome_word, standing_word


class FamilyPaper(HandsOut):
    """A document on the date asked for, on A4, or on letter paper with ``?size=letter``. Its name names nobody.

    kind: a key of `issuing.kinds`. of_closed: whether it is printed for a date on which the file is closed.
    """

    kind: ClassVar[str]
    name: ClassVar[str]
    of_closed = False
    render: ClassVar[Render]

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse | HttpResponse:
        if not self.of_closed and self.family.is_closed_on(self.day):
            messages.info(request, _("This file is closed on that date; this is printed for a date before."))
            return redirect("family", family=self.family.public_id)
        basis = self.rests_on
        return self.hand_out(self.value(basis.known_at), type(self).render, basis=basis, name=self.file_name())

    @cached_property
    def rests_on(self) -> Basis:
        return self.basis(self.kind)

    def value(self, known_at: datetime) -> Any:
        """What is printed, as known then: a reprint is the same file."""
        raise NotImplementedError

    def file_name(self) -> str:
        return f"{self.name} {self.day.isoformat()}"


class EmergencySheetPdf(FamilyPaper):
    """For the wall at home, from the care plan. Not from a file that another organisation carries on."""

    kind = "emergency_sheet"
    name = "emergency-sheet"
    render = staticmethod(render_emergency_sheet)

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse | HttpResponse:
        if self.family.is_handed_over_on(self.day):
            messages.info(request, _("This family was handed over; whoever cares with them now prints the sheet."))
            return redirect("family", family=self.family.public_id)
        return super().get(request, **kwargs)

    def value(self, known_at: datetime) -> Any:
        return emergency_sheet_of(self.picture, known_at=known_at)


class FamilyCopyPdf(FamilyPaper):
    """What a family is given: no caregiver's name and nothing that staff wrote."""

    kind = "family_copy"
    name = "family-copy"
    render = staticmethod(render_family_copy)

    def value(self, known_at: datetime) -> Any:
        return family_copy_of(self.picture, known_at=known_at)


class PersonPaper(FamilyPaper):
    """A document about the caregiver of the address; 404 where nothing is known of them as one."""

    @cached_property
    def rests_on(self) -> Basis:
        if self.caregiver.case_id not in self.picture.history.caregivers:
            raise Http404
        return self.basis(self.kind, self.caregiver)


class RemainingPdf(PersonPaper):
    """What this caregiver has shown and what comes next, as they read it themselves."""

    kind = "remaining"
    name = "remaining-skills"
    render = staticmethod(render_remaining)

    def value(self, known_at: datetime) -> Any:
        return remaining_of(self.picture, self.caregiver, known_at=known_at)


class CaregiverRecordPdf(PersonPaper):
    """Everything that was written about this caregiver, for staff; a closed file has one too."""

    kind = "caregiver_record"
    name = "caregiver-record"
    of_closed = True
    render = staticmethod(render_person_record)

    def value(self, known_at: datetime) -> PersonRecord:
        newest = self.rests_on.family
        return person_record_of(
            self.picture,
            self.caregiver,
            known_at=known_at,
            newest=(newest.number, newest.digest),
            standing_word=standing_word,
            outcome_word=outcome_word,
        )
