"""Views that give out a PDF: its number, its code, its bytes in the register, and the answer that carries it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import asdict
from datetime import date, datetime
from io import BytesIO
from typing import Any

from django.conf import settings
from django.http import FileResponse, HttpRequest
from django.urls import reverse

from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER
from training.issuing.basis import Basis
from training.issuing.giving_out import register
from training.issuing.numbers import number_of
from training.pages.views import FamilyView
from training.people.models import Caregiver

SIZES = {"a4": A4, "letter": LETTER}

Render = Callable[[Any, tuple[float, float], Seal], bytes]


def sealed(
    request: HttpRequest, value: Any, render: Render, *, basis: Basis, on: date, now: datetime
) -> tuple[str, bytes]:
    """Draw the finished value, register the bytes, and give the number and them. ``?size=letter`` is for letter paper.

    The same value on the same paper has the same number and the same bytes, so it states no moment but the basis's.
    on: the day it answers for.
    """
    size = request.GET.get("size", "")
    paper = size if size in SIZES else "a4"
    site = settings.PUBLIC_URL or request.build_absolute_uri("/").rstrip("/")
    made_from = {"kind": basis.kind, "family": basis.file.family.public_id, "paper": paper, "site": site}
    number = number_of({**made_from, "value": asdict(value)})
    seal = Seal(number=number, address=site + reverse("check-number", kwargs={"number": number}))
    data = render(value, SIZES[paper], seal)
    register(number=number, data=data, basis=basis, on=on, at=now)
    return number, data


class HandsOut(FamilyView):
    """A page of a family that is a document."""

    gives_file = True

    def basis(self, kind: str, caregiver: Caregiver | None = None) -> Basis:
        return Basis(self.file, kind, caregiver)

    def sealed(self, value: Any, render: Render, basis: Basis) -> tuple[str, bytes]:
        return sealed(self.request, value, render, basis=basis, on=self.day, now=self.now)

    def hand_out(self, value: Any, render: Render, *, basis: Basis, name: str) -> FileResponse:
        """The document as a file. Its name names nobody; the number tells two families' files apart."""
        return as_file(name, *self.sealed(value, render, basis))


def as_file(name: str, number: str, data: bytes) -> FileResponse:
    return FileResponse(
        BytesIO(data), as_attachment=True, filename=f"{name} {number}.pdf", content_type="application/pdf"
    )
