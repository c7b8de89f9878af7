"""What was given out, and what it was made from. Rows are only ever added."""

from __future__ import annotations

from django.db import models

from training.people.models import Caregiver, Family, Member, Organisation


class DocumentQuerySet(models.QuerySet["Document"]):
    def visible_to(self, member: Member) -> DocumentQuerySet:
        return self.filter(family__in=Family.objects.visible_to(member))


class Document(models.Model):
    """One document, byte for byte. It holds no word of what the document says.

    number: as printed. kind: a key of `kinds.KINDS`. caregiver: whom a document about one person is about. on: the day
    it answers for. The numbers and heads are of the newest record of each chain that bears on it (`basis`).
    The same number stands here twice where a newer version of the site draws the same document otherwise.
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    family = models.ForeignKey(Family, on_delete=models.PROTECT, related_name="documents")
    caregiver = models.ForeignKey(Caregiver, on_delete=models.PROTECT, related_name="documents", null=True)
    kind = models.CharField(max_length=20)
    number = models.CharField(max_length=14)
    sha256 = models.CharField(max_length=64)
    on = models.DateField()
    made_at = models.DateTimeField()
    family_number = models.PositiveIntegerField()
    family_head = models.CharField(max_length=64)
    programme_number = models.PositiveIntegerField()
    programme_head = models.CharField(max_length=64)
    staff_number = models.PositiveIntegerField()
    staff_head = models.CharField(max_length=64)

    objects = DocumentQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["number", "sha256"], name="document_given_out_once"),
        ]
        indexes = [models.Index(fields=["sha256"], name="document_by_digest")]

    def __str__(self) -> str:
        return f"{self.kind} {self.number}"
