"""The hand-over packet, as the offering side prints it of its own file and the receiving side of the file it kept."""

from __future__ import annotations

from datetime import date, datetime
from functools import cached_property

from django.http import Http404
from django.utils.translation import gettext as _

from training.documents.handover_packet import HandoverPacket as Handed
from training.documents.handover_packet import render_handover
from training.documents.handover_packet_of import Offered, handover_packet_of
from training.documents.packet_of import packet_of
from training.documents.record_words import RecordWords
from training.handover.models import Offer
from training.pages.family.papers import FamilyPaper
from training.pages.handover.beside import ReceivedWords
from training.pages.handover.taking_over import HandedOver
from training.pages.templatetags.register import outcome_word, standing_word, verdict_word
from training.records.models import Record
from training.standing.questions import FamilyOn


class HandoverPacket(FamilyPaper):
    """Of a family that is offered to another organisation or was handed over to it; 404 for any other."""

    kind = "handover"
    name = "handover-packet"
    of_closed = True
    render = staticmethod(render_handover)

    def find(self) -> None:
        _found = (self.family, self.offer)

    @cached_property
    def offer(self) -> Offer:
        for offer in self.family.offers.all():
            if offer.made_id or offer.is_open(self.now):
                return offer
        raise Http404

    def value(self, known_at: datetime) -> Handed:
        record = next((r for r in self.file.records if r.intent == self.offer.intent), None)
        return self.handed(self.picture, RecordWords(self.picture), offered(self.offer.to_title, record), known_at)

    def handed(self, picture: FamilyOn, words: RecordWords, told: Offered, known_at: datetime) -> Handed:
        packet = packet_of(
            picture,
            known_at=known_at,
            standing_word=standing_word,
            verdict_word=verdict_word,
            outcome_word=outcome_word,
            words_of_records=words,
        )
        return handover_packet_of(picture, packet, told, words=words, outcome_word=outcome_word)


def offered(to: str, record: Record | None, fits: str = "") -> Offered:
    """What the `offer` record of the offering side's file says."""
    body = record.data if record else {}
    home = body.get("home_on")
    return Offered(
        to=to,
        reason=body.get("reason") or "",
        note=body.get("note") or "",
        home_on=date.fromisoformat(home) if home else None,
        fits=fits,
    )


class ReceivedPacket(HandedOver, HandoverPacket):
    """The same of the file that was kept, on the day of the hand-over, with what checking it found."""

    def find(self) -> None:
        _found = (self.family, self.came_from)

    @cached_property
    def day(self) -> date:
        return self.handed_on

    def value(self, known_at: datetime) -> Handed:
        there = self.there
        record = next((r for r in reversed(there.records) if r.kind == "offer"), None)
        misfit = self.misfit()
        fits = _("The kept file does not fit its digests: do not rely on it.") if misfit else _("The kept file fits.")
        told = offered(self.family.organisation.title, record, fits)
        return self.handed(there, ReceivedWords(there), told, known_at)
