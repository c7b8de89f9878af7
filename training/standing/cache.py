"""Keeps the stored spans in step with the record. They are a cache: `competency` alone decides."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date
from typing import Any

from competency.history import FamilyHistory
from training.people.models import Family
from training.standing.file import FamilyFile, open_file
from training.standing.models import CachedStanding, CachedVerdict, CacheState
from training.standing.storing import bring


def refresh(file: FamilyFile, *, head: str | None = None) -> None:
    """Work a family's spans out and store what changed, inside the deed's transaction.

    head: the chain's head where the file's own last record is not the stored row itself.
    """
    refresh_all([file], head=head)


def refresh_all(files: Sequence[FamilyFile], *, head: str | None = None) -> None:
    """Work several families' spans out and store what changed in a few statements, inside a transaction."""
    standings: list[tuple[Any, ...]] = []
    verdicts: list[tuple[Any, ...]] = []
    for file in files:
        pk, history = file.family.pk, file.history()
        standings += [(pk, *row) for row in _standings(file.family, history)]
        verdicts += [(pk, span.value.value, span.start, span.through) for span in history.readiness.line]
    families = [file.family.pk for file in files]
    bring(CachedStanding, families, ("caregiver_id", "skill", "standing", "start", "through"), standings)
    bring(CachedVerdict, families, ("verdict", "start", "through"), verdicts)
    CacheState.objects.bulk_create(
        [_state(file, head) for file in files],
        update_conflicts=True,
        unique_fields=["family"],
        update_fields=["head", "programme_version", "qualifications_head"],
    )


def _state(file: FamilyFile, head: str | None) -> CacheState:
    return CacheState(
        family=file.family,
        head=file.head if head is None else head,
        programme_version=file.programme.version,
        qualifications_head=file.staff_head,
    )


def _standings(family: Family, history: FamilyHistory) -> Iterator[tuple[int, str, str, date, date | None]]:
    for caregiver in family.caregivers.all():
        if caregiver.case_id not in history.caregivers:
            continue
        for skill in history.known.programme.skills:
            for span in history.line(caregiver.case_id, skill):
                yield caregiver.pk, skill, span.value.value, span.start, span.through


def refresh_followers(families: Iterable[Family]) -> None:
    """Work out again what a change of the organisation's own records touches."""
    for family in families:
        refresh(open_file(family))
