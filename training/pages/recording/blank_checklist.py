"""A blank checklist as a file to print, for when the register cannot be reached."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from django.http import FileResponse, Http404, HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from training.documents.checklist import A4, LETTER, render_checklist
from training.documents.checklist_of import NoChecklistError, checklist_of
from training.pages.templatetags.register import STEP_WORDS
from training.pages.views import FamilyView

SIZES = {"a4": A4, "letter": LETTER}


class BlankChecklist(FamilyView):
    """The edition in force on the date asked for, under the care plan known now. Nothing is recorded.

    ``?size=letter`` for letter paper; ``?names=blank`` leaves family and caregiver to be written in by hand.
    """

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse:
        person, code = self.caregiver, self.skill
        try:
            checklist = checklist_of(
                self.picture,
                person,
                code,
                known_at=self.now,
                address=self.address,
                result_word=STEP_WORDS.__getitem__,
                with_names=request.GET.get("names") != "blank",
            )
        except NoChecklistError:
            raise Http404 from None
        size = SIZES.get(request.GET.get("size", "a4"), A4)
        pdf = BytesIO(render_checklist(checklist, size))
        name = _("Checklist %(code)s edition %(n)s.pdf") % {"code": code, "n": checklist.edition}
        return FileResponse(pdf, as_attachment=True, filename=name, content_type="application/pdf")

    def address(self, edition: int) -> str:
        """Of the form this paper is typed into. It holds random ids and codes, nothing about anybody."""
        whole = {"family": self.family.public_id, "caregiver": self.caregiver.public_id, "skill": self.skill}
        return self.request.build_absolute_uri(reverse("transcribe", kwargs={**whole, "edition": edition}))
