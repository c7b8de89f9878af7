"""Offers between two organisations, and the codes by which one is named to another."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.db import models
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from training.people.models import Family, Member, Organisation, check_time_zone


class HandoverCode(models.Model):
    """What an organisation tells another one, so that a family can be offered to it. There is no list of them."""

    organisation = models.OneToOneField(Organisation, on_delete=models.PROTECT, related_name="handover_code")
    code = models.CharField(max_length=20, unique=True)
    made_at = models.DateTimeField()

    def __str__(self) -> str:
        return f"code of {self.organisation}"


class OfferQuerySet(models.QuerySet["Offer"]):
    def visible_to(self, member: Member) -> OfferQuerySet:
        """The offers made to this member's organisation."""
        return self.filter(to=member.organisation_id).select_related("made")

    def waiting(self) -> OfferQuerySet:
        """Those nobody answered or took back yet; some of them may have run out."""
        return self.filter(ended="")


class Offer(models.Model):
    """One family offered by one organisation to another. A projection of the offering chain's `offer` records.

    family: the offering organisation's. made: the family that the accepting one started from it. shown: the summary,
    as it stood on the screen of whoever signed the offer; the other side sees this and no more until it accepts. Each
    side's name and the family's time zone stand here for the other one, which sees neither row. The public id is also
    the chain of what the receiving organisation keeps of it.
    """

    class Ended(models.TextChoices):
        ACCEPTED = "accepted", _("accepted")
        DECLINED = "declined", _("declined")
        WITHDRAWN = "withdrawn", _("withdrawn")
        EXPIRED = "expired", _("ran out")

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    intent = models.UUIDField(unique=True)
    family = models.ForeignKey(Family, on_delete=models.PROTECT, related_name="offers")
    from_organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="offers_made")
    from_title = models.CharField(max_length=120)
    to_title = models.CharField(max_length=120)
    time_zone = models.CharField(max_length=64, validators=[check_time_zone])
    to = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="offers_received")
    offered_at = models.DateTimeField()
    through = models.DateField()
    shown = models.JSONField()
    ended = models.CharField(max_length=10, choices=Ended, blank=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.CharField(max_length=300, blank=True)
    ended_reason = models.TextField(blank=True)
    made = models.OneToOneField(Family, on_delete=models.PROTECT, related_name="came_from", null=True, blank=True)

    objects = OfferQuerySet.as_manager()

    class Meta:
        ordering = ["-offered_at", "-pk"]
        constraints = [
            models.UniqueConstraint(fields=["family"], condition=Q(ended=""), name="offer_waits_once_for_a_family"),
            models.CheckConstraint(
                name="offer_made_a_family_when_accepted",
                condition=Q(ended="accepted", made__isnull=False) | ~Q(ended="accepted") & Q(made=None),
            ),
        ]

    def __str__(self) -> str:
        return f"offer of {self.offered_at:%Y-%m-%d}"

    def state(self, now: datetime) -> str:
        """What became of it; "" while it waits."""
        return self.ended or ("" if self.is_open(now) else self.Ended.EXPIRED.value)

    def is_open_on(self, day: date) -> bool:
        return not self.ended and day <= self.through

    def is_open(self, now: datetime) -> bool:
        return self.is_open_on(self.today(now))

    def today(self, now: datetime) -> date:
        """The local date where the patient is."""
        return now.astimezone(ZoneInfo(self.time_zone)).date()
