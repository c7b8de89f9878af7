"""Keeps the stored spans in step with the record. They are a cache: `competency` alone decides."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any

from django.db.models import Model

from competency.history import FamilyHistory
from training.people.models import Family
from training.standing.file import FamilyFile, open_file
from training.standing.models import CachedStanding, CachedVerdict, CacheState


def refresh(file: FamilyFile, *, head: str | None = None) -> None:
    """Work a family's spans out and store what changed, inside the deed's transaction.

    head: the chain's head where the file's own last record is not the stored row itself.
    """
    family, history = file.family, file.history()
    _store(
        family, CachedStanding, ("caregiver_id", "skill", "standing", "start", "through"), _standings(family, history)
    )
    verdicts = ((span.value.value, span.start, span.through) for span in history.readiness.line)
    _store(family, CachedVerdict, ("verdict", "start", "through"), verdicts)
    CacheState.objects.update_or_create(
        family=family,
        defaults={
            "head": file.head if head is None else head,
            "programme_version": file.programme.version,
            "qualifications_head": file.staff_head,
        },
    )


def _standings(family: Family, history: FamilyHistory) -> Iterator[tuple[int, str, str, date, date | None]]:
    for caregiver in family.caregivers.all():
        if caregiver.case_id not in history.caregivers:
            continue
        for skill in history.known.programme.skills:
            for span in history.line(caregiver.case_id, skill):
                yield caregiver.pk, skill, span.value.value, span.start, span.through


def _store(family: Family, model: type[Model], names: tuple[str, ...], rows: Iterable[tuple[Any, ...]]) -> None:
    """Bring the stored rows to these; what is there already stays."""
    wanted = set(rows)
    there = {row[1:]: row[0] for row in model.objects.filter(family=family).values_list("pk", *names)}
    gone = [pk for row, pk in there.items() if row not in wanted]
    if gone:
        model.objects.filter(pk__in=gone).delete()
    model.objects.bulk_create(
        model(family=family, **dict(zip(names, row, strict=True))) for row in wanted if row not in there
    )


def refresh_followers(families: Iterable[Family]) -> None:
    """Work out again what a change of the organisation's own records touches."""
    for family in families:
        refresh(open_file(family))
