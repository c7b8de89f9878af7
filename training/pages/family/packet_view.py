"""The discharge-readiness packet as a file to print."""

from __future__ import annotations

from datetime import datetime

from training.documents.packet import Packet, render_packet
from training.documents.packet_of import packet_of
from training.pages.family.papers import FamilyPaper
from training.pages.templatetags.register import outcome_word, standing_word, verdict_word


class PacketPdf(FamilyPaper):
    """Everything about one family on a date, for the discharge meeting."""

    kind = "packet"
    name = "packet"
    render = staticmethod(render_packet)

    def value(self, known_at: datetime) -> Packet:
        return packet_of(
            self.picture,
            known_at=known_at,
            standing_word=standing_word,
            verdict_word=verdict_word,
            outcome_word=outcome_word,
        )
