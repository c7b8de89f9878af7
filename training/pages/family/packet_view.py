"""The discharge-readiness packet as a file to print."""

from __future__ import annotations

from django.utils.translation import gettext as _

from training.documents.packet import render_packet
from training.documents.packet_of import packet_of
from training.pages.family.papers import FamilyPaper
from training.pages.templatetags.register import outcome_word, standing_word, verdict_word

LONGEST_NAME = 80


class PacketPdf(FamilyPaper):
    """Everything about one family on a date, for the discharge meeting."""

    def printed(self, size: tuple[float, float]) -> bytes:
        packet = packet_of(
            self.picture,
            known_at=self.now,
            standing_word=standing_word,
            verdict_word=verdict_word,
            outcome_word=outcome_word,
        )
        return render_packet(packet, size)

    def file_name(self) -> str:
        """The family and the date; nothing a header or a disk would stumble over."""
        name = "".join(c if c.isprintable() and c not in '/\\:*?"<>|' else " " for c in self.family.name)
        name = " ".join(name.split())[:LONGEST_NAME]
        return _("Packet %(family)s %(day)s.pdf") % {"family": name, "day": self.day.isoformat()}
