"""The log's one table."""

from __future__ import annotations

from django.db import models
from django.utils.translation import gettext_lazy as _

from training.people.models import Member, Organisation


class EntryQuerySet(models.QuerySet["Entry"]):
    def visible_to(self, member: Member) -> EntryQuerySet:
        """The log of this member's organisation, newest first."""
        return self.filter(organisation=member.organisation_id)


class Entry(models.Model):
    """One line of an organisation's log. Who and what are words as they were then, so that it outlives every row.

    what: a code; `training.pages.log.words` makes the sentence, with `words` as its parameters. about_id: the chain
    the entry is about, mostly a family's. number: of a record in that chain. view: the address's name, never the
    address. The database refuses to change or remove a row (see `training.records.guards`).
    """

    class Kind(models.TextChoices):
        DEED = "deed", _("deeds")
        READ = "read", _("reads")
        ACCESS = "access", _("sign-ins")

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    at = models.DateTimeField()
    kind = models.CharField(max_length=6, choices=Kind)
    what = models.CharField(max_length=40)
    words = models.JSONField(default=dict)
    who_id = models.CharField(max_length=36, blank=True)
    who_name = models.CharField(max_length=300)
    who_role = models.CharField(max_length=80, blank=True)
    about_id = models.CharField(max_length=36, blank=True)
    about_name = models.CharField(max_length=200, blank=True)
    number = models.PositiveIntegerField(null=True)
    view = models.CharField(max_length=60, blank=True)

    objects = EntryQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        indexes = [
            models.Index(fields=["organisation", "-at", "-id"], name="log_by_organisation"),
            models.Index(fields=["organisation", "about_id", "-at", "-id"], name="log_by_family"),
            models.Index(fields=["organisation", "who_id", "-at", "-id"], name="log_by_person"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.what}"
