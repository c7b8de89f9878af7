"""What caregivers print for themselves, from their own page."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.utils.translation import gettext as _

from training.documents.emergency_sheet import render_emergency_sheet
from training.documents.emergency_sheet_of import emergency_sheet_of
from training.documents.remaining import render_remaining
from training.issuing.basis import Basis
from training.pages.caregiver.remaining import remaining_of
from training.pages.caregiver.views import OwnView
from training.pages.handing_out import Render, as_file, sealed
from training.people.reminding import is_watched


class OwnPaper(OwnView):
    """A document of today, while this organisation keeps the file; as the staff's, byte for byte."""

    kind: ClassVar[str]
    name: ClassVar[str]
    render: ClassVar[Render]

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse | HttpResponse:
        day = self.picture.day
        if not is_watched(self.caregiver.family, day):
            messages.info(request, _("Nothing is printed from here any more. Ask whoever cares with you now."))
            return self.home
        basis = self.basis()
        made = sealed(request, self.value(basis), type(self).render, basis=basis, on=day, now=self.now)
        return as_file(f"{self.name} {day.isoformat()}", *made)

    def basis(self) -> Basis:
        return Basis(self.picture.file, self.kind)

    def value(self, basis: Basis) -> Any:
        raise NotImplementedError


class OwnEmergencySheet(OwnPaper):
    """For the wall: the care plan's tube, and lines to write on."""

    kind = "emergency_sheet"
    name = "emergency-sheet"
    render = staticmethod(render_emergency_sheet)

    def value(self, basis: Basis) -> Any:
        return emergency_sheet_of(self.picture, known_at=basis.known_at)


class OwnRemaining(OwnPaper):
    """What they have shown and what comes next."""

    kind = "remaining"
    name = "remaining-skills"
    render = staticmethod(render_remaining)

    def basis(self) -> Basis:
        return Basis(self.picture.file, self.kind, self.caregiver)

    def value(self, basis: Basis) -> Any:
        return remaining_of(self.picture, self.caregiver, known_at=basis.known_at)
