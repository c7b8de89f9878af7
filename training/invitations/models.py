"""Invitations, the codes that were tried in vain, and the accounts that were taken away again.

None of it is part of a family's record: it says who may look, never what was shown.
"""

from __future__ import annotations

import uuid
from datetime import datetime

from django.db import models
from django.db.models import F, Q

from training.people.models import Caregiver, Member, User


class InvitationQuerySet(models.QuerySet["Invitation"]):
    def visible_to(self, member: Member) -> InvitationQuerySet:
        return self.filter(caregiver__in=Caregiver.objects.visible_to(member))

    def unanswered(self) -> InvitationQuerySet:
        """Neither used nor withdrawn; whether one of them is too old is asked with the clock."""
        return self.filter(used_at=None, withdrawn_at=None)


class Invitation(models.Model):
    """A code for one caregiver. It opens one account, once; the code itself is kept nowhere.

    digest: keyed, so that a stolen table cannot be searched for codes. made_by: in words, which outlive the account.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    caregiver = models.ForeignKey(Caregiver, on_delete=models.PROTECT, related_name="invitations")
    digest = models.CharField(max_length=64, unique=True)
    made_by = models.CharField(max_length=240)
    made_at = models.DateTimeField()
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    used_by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+", null=True, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.CharField(max_length=240, blank=True)

    objects = InvitationQuerySet.as_manager()

    class Meta:
        ordering = ["-made_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["caregiver"],
                condition=Q(used_at=None, withdrawn_at=None),
                name="invitation_one_unanswered_for_a_caregiver",
            ),
            models.CheckConstraint(
                name="invitation_used_or_withdrawn", condition=Q(used_at=None) | Q(withdrawn_at=None)
            ),
            models.CheckConstraint(
                name="invitation_used_by_somebody",
                condition=Q(used_at=None, used_by=None) | Q(used_at__isnull=False, used_by__isnull=False),
            ),
            models.CheckConstraint(name="invitation_days_in_order", condition=Q(expires_at__gt=F("made_at"))),
        ]

    def __str__(self) -> str:
        return f"invitation {self.public_id}"

    def is_open(self, now: datetime) -> bool:
        """Whether it still leads anywhere: not used, not withdrawn, not too old, and its caregiver is there without
        an account. caregiver and its family have to be fresh from the database.
        """
        unanswered = self.used_at is None and self.withdrawn_at is None and now < self.expires_at
        last_day = self.caregiver.through
        today = self.caregiver.family.today(now)
        is_staying = (last_day is None or today <= last_day) and not self.caregiver.family.is_closed_on(today)
        return unanswered and is_staying and self.caregiver.user_id is None


class TriedCode(models.Model):
    """A code or an answer that did not fit, kept a day to slow guessing down.

    of: what was tried. source: a keyed digest of an address.
    """

    of = models.CharField(max_length=20, default="address")
    source = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(fields=["source", "at"], name="tried_code_by_source"),
            models.Index(fields=["of", "at"], name="tried_code_by_kind"),
            models.Index(fields=["at"], name="tried_code_by_time"),
        ]

    def __str__(self) -> str:
        return f"tried code {self.pk}"


class RemovedAccount(models.Model):
    """That an account was taken away from a caregiver, in words: it was the wrong one, or it is not wanted any more."""

    caregiver = models.ForeignKey(Caregiver, on_delete=models.PROTECT, related_name="removed_accounts")
    account = models.CharField(max_length=254)
    reason = models.CharField(max_length=2000)
    by = models.CharField(max_length=240)
    at = models.DateTimeField()

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return f"removed account {self.pk}"
