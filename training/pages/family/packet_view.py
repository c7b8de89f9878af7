"""The discharge-readiness packet as a file to print."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _

from training.documents.packet import render_packet
from training.documents.packet_of import packet_of
from training.pages.handing_out import HandsOut
from training.pages.templatetags.register import outcome_word, standing_word, verdict_word

LONGEST_NAME = 80


class PacketPdf(HandsOut):
    """The packet on the date asked for, on A4, or on letter paper with ``?size=letter``."""

    def get(self, request: HttpRequest, family: Any) -> FileResponse | HttpResponse:
        if self.family.is_closed_on(self.day):
            messages.info(request, _("This file is closed on that date; a packet is printed for a date before."))
            return redirect("family", family=self.family.public_id)
        basis = self.basis("packet")
        packet = packet_of(
            self.picture,
            known_at=basis.known_at,
            standing_word=standing_word,
            verdict_word=verdict_word,
            outcome_word=outcome_word,
        )
        return self.hand_out(packet, render_packet, basis=basis, name=self.file_name())

    def file_name(self) -> str:
        """The family and the date; nothing a header or a disk would stumble over."""
        name = "".join(c if c.isprintable() and c not in '/\\:*?"<>|' else " " for c in self.family.name)
        name = " ".join(name.split())[:LONGEST_NAME]
        return _("Packet %(family)s %(day)s.pdf") % {"family": name, "day": self.day.isoformat()}
