"""Drafts of demonstrations, and the stored spans: a cache of what `competency` works out, and named one."""

from __future__ import annotations

import uuid
from collections.abc import Collection
from datetime import date
from typing import Any, Self

from django.db import models

from training.curriculum.models import Programme
from training.people.models import Caregiver, Family, Member, Organisation
from training.standing.days_tree import nodes_of


class BoardQuerySet(models.QuerySet[Any]):
    """Of the rows a board is read from; each has an organisation and a family."""

    def visible_to(self, member: Member) -> Self:
        rows = self.filter(organisation=member.organisation_id)
        return rows.filter(family__in=Family.objects.visible_to(member)) if member.sees_assigned_only else rows

    def on(self, day: date, under: Collection[int] | None = None) -> Self:
        """The spans that contain the day; of those, if nodes are given, the ones kept under them."""
        rows = self.filter(first_day__lte=day, last_day__gte=day)
        return rows.filter(node__in=nodes_of(day)) if under is None else rows.filter(node__in=under)


class CachedStanding(models.Model):
    """CACHE. One span of one caregiver's standing in one skill. through None is open."""

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+", db_index=False)
    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="cached_standings")
    caregiver = models.ForeignKey(Caregiver, on_delete=models.CASCADE, related_name="cached_standings")
    skill = models.CharField(max_length=60)
    standing = models.CharField(max_length=15)
    start = models.DateField()
    through = models.DateField(null=True)

    objects = BoardQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["organisation", "caregiver", "skill", "start"], name="cached_standing_starts_once"
            )
        ]
        indexes = [models.Index(fields=["organisation", "family", "start"], name="cached_standing_by_day")]

    def __str__(self) -> str:
        return f"{self.skill} {self.standing} from {self.start}"


class CachedVerdict(models.Model):
    """CACHE. One span of a family's verdict."""

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+", db_index=False)
    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="cached_verdicts")
    verdict = models.CharField(max_length=20)
    start = models.DateField()
    through = models.DateField(null=True)

    objects = BoardQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["organisation", "family", "start"], name="cached_verdict_starts_once")
        ]

    def __str__(self) -> str:
        return f"{self.verdict} from {self.start}"


class CacheState(models.Model):
    """CACHE. What a family's spans came from: the head of its chain, its programme's, and its organisation's.

    qualifications_head: of the last word on somebody who assessed in this family. form: which form the stored rows
    have (`cache.FORM`). rebuilt: the round of `rebuild_standing` that last worked them out; 0 before any.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+", db_index=False)
    family = models.OneToOneField(Family, on_delete=models.CASCADE, related_name="cache_state")
    head = models.CharField(max_length=64)
    programme_version = models.CharField(max_length=64)
    qualifications_head = models.CharField(max_length=64)
    form = models.PositiveSmallIntegerField(default=0)
    rebuilt = models.PositiveIntegerField(default=0)

    objects = BoardQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["organisation", "form"], name="cache_state_by_form")]

    def __str__(self) -> str:
        return f"spans of {self.family}"


class BoardFamily(models.Model):
    """CACHE. How a family is found on the board. Texts are folded, but for the site, which is as the family has it;
    names and languages each in a line of its own.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    family = models.OneToOneField(Family, on_delete=models.CASCADE, related_name="on_board")
    programme = models.ForeignKey(Programme, on_delete=models.CASCADE, related_name="+")
    names = models.TextField()
    languages = models.TextField(blank=True)
    site = models.CharField(max_length=60, blank=True, default="")

    objects = BoardQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["organisation", "family"], name="board_family_once")]
        indexes = [
            models.Index(fields=["organisation", "programme"], name="board_family_by_programme"),
            models.Index(fields=["organisation", "site"], name="board_family_by_site"),
        ]

    def __str__(self) -> str:
        return f"{self.family} on the board"


class Trouble(models.IntegerChoices):
    """Which families come first."""

    TEAM = 0, "not ready: the team is missing, or there is no care plan"
    OTHER = 1, "not ready for something else"
    EXCEPTION = 2, "ready by exception"
    PAUSE = 3, "ready, but somebody is on pause"
    FALLING = 4, "ready, but not for long"
    NONE = 5, "nothing is needed"
    HANDED_OVER = 6, "handed over"
    CLOSED = 7, "closed"


class BoardSpan(models.Model):
    """CACHE. Days, first and last whole, on which a family's line on the board stays the same. They leave no day out.

    node: `days_tree.fork` of the days. rank: a Trouble; within one, sort_day and name_key say who comes first.
    missing: of each thing its code, since when it is out of date, and the exception that covers it as (name, through,
    reason). falls_on: when it stops being ready if nothing more happens, and falls_missing what is missing then, alike.
    ready: each set with how many hold it. paused: who is on pause, by their case ids.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="board_spans")
    first_day = models.DateField()
    last_day = models.DateField()
    node = models.PositiveIntegerField()
    rank = models.PositiveSmallIntegerField(choices=Trouble)
    sort_day = models.DateField()
    name_key = models.CharField(max_length=80)
    verdict = models.CharField(max_length=20, blank=True)
    missing = models.JSONField(default=list)
    missing_count = models.PositiveSmallIntegerField()
    falls_on = models.DateField(null=True)
    falls_missing = models.JSONField(default=list)
    team = models.TextField(blank=True)
    places = models.PositiveSmallIntegerField()
    filled = models.PositiveSmallIntegerField()
    ready = models.JSONField(default=list)
    single = models.BooleanField()
    changed = models.BooleanField()
    paused = models.JSONField(default=list)

    objects = BoardQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["organisation", "family", "first_day"], name="board_span_starts_once"),
        ]
        indexes = [
            models.Index(
                fields=["organisation", "node", "rank", "sort_day", "name_key", "family", "first_day", "last_day"],
                name="board_span_by_day",
            )
        ]

    def __str__(self) -> str:
        return f"{self.family} from {self.first_day}"


class LapseDay(models.Model):
    """CACHE. A day on which sign-offs of a family lapse if nothing more happens: how many, and the first of them.

    takes_down: the family is not ready from that day on.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="lapse_days")
    day = models.DateField()
    number = models.PositiveSmallIntegerField()
    takes_down = models.BooleanField()
    caregiver = models.ForeignKey(Caregiver, on_delete=models.CASCADE, related_name="+")
    skill = models.CharField(max_length=60)

    objects = BoardQuerySet.as_manager()

    class Meta:
        constraints = [models.UniqueConstraint(fields=["organisation", "family", "day"], name="lapse_day_once")]
        indexes = [
            models.Index(fields=["organisation", "day", "takes_down", "family", "number"], name="lapse_day_by_day")
        ]

    def __str__(self) -> str:
        return f"{self.number} on {self.day}"


class AssessedBy(models.Model):
    """CACHE. That somebody, by their observer's id, assessed in a family, or agreed to what was.

    A superset of those whose qualification matters to it, and whom rechecks in bulk start from.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.CASCADE, related_name="+")
    family = models.ForeignKey(Family, on_delete=models.CASCADE, related_name="+")
    observer = models.CharField(max_length=64)

    objects = BoardQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["organisation", "observer", "family"], name="assessed_by_once"),
        ]

    def __str__(self) -> str:
        return f"{self.observer} in {self.family}"


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


class SavedFilterQuerySet(models.QuerySet["SavedFilter"]):
    def visible_to(self, member: Member) -> SavedFilterQuerySet:
        """This member's own."""
        return self.filter(member=member.pk)


class SavedFilter(models.Model):
    """What a member looks for on the board again and again, under a name of their own. Theirs alone."""

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    member = models.ForeignKey(Member, on_delete=models.CASCADE, related_name="saved_filters")
    title = models.CharField(max_length=60)
    asked = models.JSONField()

    objects = SavedFilterQuerySet.as_manager()

    class Meta:
        ordering = ["title", "pk"]
        constraints = [models.UniqueConstraint(fields=["member", "title"], name="saved_filter_once_by_title")]

    def __str__(self) -> str:
        return self.title
