"""Programmes and what is published of them. Every row here is a projection of the curriculum's chain of records."""

from __future__ import annotations

import uuid

from django.db import models
from django.utils.translation import gettext_lazy as _

from training.people.models import Family, Member, Organisation


class ProgrammeQuerySet(models.QuerySet["Programme"]):
    def visible_to(self, member: Member) -> ProgrammeQuerySet:
        return self.filter(organisation=member.organisation_id)


class Programme(models.Model):
    """An organisation's skills, sets, team rules and items.

    about: the words of the programme file that are no rules: notice, facts, and each skill's title, plain name,
    group, reason and cautions, in order.
    """

    public_id = models.UUIDField(default=uuid.uuid4, unique=True, editable=False)
    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="programmes")
    code = models.CharField(_("code"), max_length=60)
    title = models.CharField(_("title"), max_length=120)
    about = models.JSONField()
    version = models.CharField(max_length=64, help_text="The head of its chain of records.")

    objects = ProgrammeQuerySet.as_manager()

    class Meta:
        ordering = ["title", "pk"]
        constraints = [models.UniqueConstraint(fields=["organisation", "code"], name="programme_code_is_unique")]

    def __str__(self) -> str:
        return self.title


class Edition(models.Model):
    """One published edition of a skill: the file's own words and rules, never changed."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="editions")
    skill = models.CharField(max_length=60)
    number = models.PositiveIntegerField()
    in_force_from = models.DateField()
    recorded_at = models.DateTimeField()
    body = models.JSONField()

    class Meta:
        ordering = ["programme", "skill", "number"]
        constraints = [
            models.UniqueConstraint(fields=["programme", "skill", "number"], name="edition_number_is_unique")
        ]

    def __str__(self) -> str:
        return f"{self.skill}, edition {self.number}"


class RuleSet(models.Model):
    """Published sets, team alternatives and items."""

    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="rule_sets")
    in_force_from = models.DateField()
    recorded_at = models.DateTimeField()
    body = models.JSONField()

    class Meta:
        ordering = ["programme", "in_force_from", "recorded_at"]
        constraints = [
            models.UniqueConstraint(
                fields=["programme", "in_force_from", "recorded_at"], name="rules_of_one_day_and_instant_once"
            )
        ]

    def __str__(self) -> str:
        return f"rules from {self.in_force_from}"


class ProgrammeDraft(models.Model):
    """One part of a programme being written: a skill's next edition; where skill is empty, the next sets, team and
    items; where it is `drafting.FACTS`, the title, notice, facts and checks. A row, not a record: it is changed as it
    is written, and gone once published.

    body: of a skill {"words": its title, plain, group, why, cautions; "edition": the file's keys but for the number,
    the first day and the older sign-offs}; otherwise the file's own keys, of facts also what they were "begun_from"
    and, where the organisation is to sign so, that a sample is "adapted".

    version: rises with every change; who would save on an older one is told.
    """

    programme = models.ForeignKey(Programme, on_delete=models.CASCADE, related_name="drafts")
    skill = models.CharField(max_length=60, blank=True)
    based_on = models.PositiveIntegerField(null=True, help_text="The edition it was begun from; of rules, their count.")
    body = models.JSONField()
    version = models.PositiveIntegerField(default=1)
    changed_by = models.ForeignKey(Member, on_delete=models.PROTECT, related_name="+")
    changed_at = models.DateTimeField()

    class Meta:
        ordering = ["programme", "skill"]
        constraints = [models.UniqueConstraint(fields=["programme", "skill"], name="one_draft_of_each_part")]

    def __str__(self) -> str:
        return f"draft of {self.skill or 'sets, team and items'}"


class Enrolment(models.Model):
    """The programme a family's file follows."""

    family = models.OneToOneField(Family, on_delete=models.PROTECT, related_name="enrolment")
    programme = models.ForeignKey(Programme, on_delete=models.PROTECT, related_name="enrolments")

    def __str__(self) -> str:
        return f"{self.family} follows {self.programme}"
