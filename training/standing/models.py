"""Drafts of demonstrations, and the stored spans: a cache of what `competency` works out, and named one."""

from __future__ import annotations

import uuid

from django.db import models

from training.people.models import Caregiver, Family, Member


class CachedStanding(models.Model):
    """CACHE. One span of one caregiver's standing in one skill. through None is open."""

    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="cached_standings")
    caregiver = models.ForeignKey(Caregiver, on_delete=models.CASCADE, related_name="cached_standings")
    skill = models.CharField(max_length=60)
    standing = models.CharField(max_length=15)
    start = models.DateField()
    through = models.DateField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["caregiver", "skill", "start"], name="cached_standing_starts_once")
        ]
        indexes = [models.Index(fields=["family", "through", "start"], name="cached_standing_by_day")]

    def __str__(self) -> str:
        return f"{self.skill} {self.standing} from {self.start}"


class CachedVerdict(models.Model):
    """CACHE. One span of a family's verdict."""

    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="cached_verdicts")
    verdict = models.CharField(max_length=20)
    start = models.DateField()
    through = models.DateField(null=True)

    class Meta:
        constraints = [models.UniqueConstraint(fields=["family", "start"], name="cached_verdict_starts_once")]

    def __str__(self) -> str:
        return f"{self.verdict} from {self.start}"


class CacheState(models.Model):
    """CACHE. What a family's spans came from: the head of its chain, its programme's, and its organisation's."""

    family = models.OneToOneField(Family, on_delete=models.CASCADE, related_name="cache_state")
    head = models.CharField(max_length=64)
    programme_version = models.CharField(max_length=64)
    qualifications_head = models.CharField(max_length=64)

    def __str__(self) -> str:
        return f"spans of {self.family}"


class DraftQuerySet(models.QuerySet["Draft"]):
    def visible_to(self, member: Member) -> DraftQuerySet:
        """This member's own, of the families they may see now."""
        return self.filter(author=member.pk, caregiver__family__in=Family.objects.visible_to(member))


class Draft(models.Model):
    """A demonstration being recorded. Its author's alone; thrown away once signed.

    data: the record's body so far. intent: what the signed record will be, so that it is made once.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    author = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="drafts")
    caregiver = models.ForeignKey(Caregiver, on_delete=models.PROTECT, related_name="drafts")
    intent = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    data = models.JSONField()
    started_at = models.DateTimeField()
    changed_at = models.DateTimeField()

    objects = DraftQuerySet.as_manager()

    class Meta:
        ordering = ["-changed_at", "pk"]

    def __str__(self) -> str:
        return f"draft of {self.changed_at:%Y-%m-%d %H:%M}"
