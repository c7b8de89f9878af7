"""The one append-only table. Everything dated and signed about a family, and everything published, is a row here."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db import models
from django.db.models import Q

from training.people.models import Organisation

_FRACTION = re.compile(rb"[:\[,]-?\d+[.eE]")  # perhaps inside a text; never missed where it is a number


class RecordQuerySet(models.QuerySet["Record"]):
    def of_chain(self, chain: object) -> RecordQuerySet:
        return self.filter(chain=chain).order_by("number")

    def newest_first(self, at_once: int = 500) -> Iterator[Record]:
        """All of them, so many at a time as `record_by_kind` gives one kind of one organisation in this order.

        Nothing is sorted and few are in memory, however many there are.
        """
        rows = self.order_by("-recorded_at", "-pk")
        some = list(rows[:at_once])
        while some:
            yield from some
            at, last = some[-1].recorded_at, some[-1].pk
            after = Q(recorded_at__lt=at) | Q(recorded_at=at, pk__lt=last)
            some = list(rows.filter(after, recorded_at__lte=at)[:at_once]) if len(some) == at_once else []


class Record(models.Model):
    """One record of one chain: an organisation's file on one family, or one programme's publications.

    body: canonical JSON bytes. intent: one per deed, so that the same post twice is one record. The database
    refuses to change or remove a row, whoever asks (see `training.records.guards`).
    """

    organisation = models.ForeignKey(Organisation, on_delete=models.PROTECT, related_name="+")
    chain = models.UUIDField()
    number = models.PositiveIntegerField()
    kind = models.CharField(max_length=20)
    intent = models.UUIDField(unique=True)
    recorded_at = models.DateTimeField()
    body = models.BinaryField()
    previous = models.CharField(max_length=64)
    digest = models.CharField(max_length=64)

    objects = RecordQuerySet.as_manager()

    class Meta:
        ordering = ["chain", "number"]
        constraints = [
            models.UniqueConstraint(fields=["chain", "number"], name="record_number_is_unique_in_a_chain"),
            models.CheckConstraint(name="record_number_starts_at_one", condition=Q(number__gte=1)),
        ]
        indexes = [
            models.Index(fields=["organisation", "chain"], name="record_by_organisation"),
            models.Index(fields=["organisation", "kind", "recorded_at", "id"], name="record_by_kind"),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.number}"

    @cached_property
    def plain(self) -> dict[str, Any]:
        """The body as JSON has it: numbers with a fraction are floats. For the rules, which read JSON."""
        return json.loads(bytes(self.body))

    @cached_property
    def data(self) -> dict[str, Any]:
        """The body as values; numbers with a fraction are decimals."""
        body = bytes(self.body)
        return json.loads(body, parse_float=Decimal) if _FRACTION.search(body) else self.plain
