"""Documents about one family, handed out as files to print."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from training.documents.family_copy import render_family_copy
from training.documents.family_copy_of import family_copy_of
from training.documents.pdf.sheet import A4, LETTER
from training.pages.views import FamilyView

SIZES = {"a4": A4, "letter": LETTER}


def hand_out(pdf: bytes, name: str) -> FileResponse:
    """The bytes as a file of this name."""
    return FileResponse(BytesIO(pdf), as_attachment=True, filename=name, content_type="application/pdf")


class FamilyPaper(FamilyView):
    """A document on the date asked for, on A4, or on letter paper with ``?size=letter``. Its name names nobody."""

    name = ""
    of_closed = False  # whether it is printed for a date on which the file is closed

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse | HttpResponse:
        if not self.of_closed and self.family.is_closed_on(self.day):
            messages.info(request, _("This file is closed on that date; a packet is printed for a date before."))
            return redirect("family", family=self.family.public_id)
        return hand_out(self.printed(self.size), self.file_name())

    @property
    def size(self) -> tuple[float, float]:
        return SIZES.get(self.request.GET.get("size", "a4"), A4)

    def printed(self, size: tuple[float, float]) -> bytes:
        raise NotImplementedError

    def file_name(self) -> str:
        return f"{self.name} {self.day.isoformat()}.pdf"


class FamilyCopyPdf(FamilyPaper):
    """What a family is given: no caregiver's name and nothing that staff wrote."""

    name = "family-copy"

    def printed(self, size: tuple[float, float]) -> bytes:
        return render_family_copy(family_copy_of(self.picture, known_at=self.now), size)
