"""Keeps the stored spans in step with the record. They are a cache: `competency` alone decides."""

from __future__ import annotations

from collections.abc import Iterable

from training.people.models import Family
from training.standing.file import FamilyFile, open_file
from training.standing.models import CachedStanding, CachedVerdict, CacheState


def refresh(file: FamilyFile) -> None:
    """Work a family's spans out and store them, inside the deed's transaction."""
    family = file.family
    history = file.history()
    CachedStanding.objects.filter(family=family).delete()
    CachedVerdict.objects.filter(family=family).delete()
    CachedStanding.objects.bulk_create(
        CachedStanding(
            family=family,
            caregiver=caregiver,
            skill=skill,
            standing=span.value.value,
            start=span.start,
            through=span.through,
        )
        for caregiver in family.caregivers.all()
        if caregiver.case_id in history.caregivers
        for skill in history.known.programme.skills
        for span in history.line(caregiver.case_id, skill)
    )
    CachedVerdict.objects.bulk_create(
        CachedVerdict(family=family, verdict=span.value.value, start=span.start, through=span.through)
        for span in history.readiness.line
    )
    CacheState.objects.update_or_create(
        family=family,
        defaults={
            "head": file.head,
            "programme_version": file.programme.version,
            "qualifications_head": file.staff_head,
        },
    )


def refresh_followers(families: Iterable[Family]) -> None:
    """Work out again what a change of the organisation's own records touches."""
    for family in families:
        refresh(open_file(family))
