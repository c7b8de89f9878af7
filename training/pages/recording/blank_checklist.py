"""A blank checklist as a file to print, for when the register cannot be reached."""

from __future__ import annotations

from typing import Any

from django.http import FileResponse, Http404, HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _

from training.documents.checklist import render_checklist
from training.documents.checklist_of import NoChecklistError, checklist_of
from training.pages.handing_out import HandsOut
from training.pages.templatetags.register import STEP_WORDS


class BlankChecklist(HandsOut):
    """The edition in force on the date asked for, under the care plan known now. Nothing is recorded.

    ``?size=letter`` for letter paper; ``?names=blank`` leaves family and caregiver to be written in by hand.
    """

    def get(self, request: HttpRequest, **kwargs: Any) -> FileResponse:
        person, code = self.caregiver, self.skill
        basis = self.basis("checklist", person)
        try:
            checklist = checklist_of(
                self.picture,
                person,
                code,
                known_at=basis.known_at,
                address=self.address,
                result_word=STEP_WORDS.__getitem__,
                with_names=request.GET.get("names") != "blank",
            )
        except NoChecklistError:
            raise Http404 from None
        name = _("Checklist %(code)s edition %(n)s") % {"code": code, "n": checklist.edition}
        return self.hand_out(checklist, render_checklist, basis=basis, name=name)

    def address(self, edition: int) -> str:
        """Of the form this paper is typed into. It holds random ids and codes, nothing about anybody."""
        whole = {"family": self.family.public_id, "caregiver": self.caregiver.public_id, "skill": self.skill}
        return self.request.build_absolute_uri(reverse("transcribe", kwargs={**whole, "edition": edition}))
