"""A case as it would be if somebody were out: what "what if this person is out" is answered on."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from datetime import date

from competency.dates import ONE_DAY
from competency.records import Caregiver, Case


def without(case: Case, out: Collection[str], day: date) -> Case:
    """The same case with these caregivers in the family through the day before ``day``, and no longer.

    out: ids of caregivers; one the case does not know is passed over. Whoever was to come on ``day`` or later is not
    in it at all. Everything before ``day`` is answered as it was (design 4.7: ``from`` and ``through`` matter to sets
    and team only).
    """
    return replace(case, caregivers=tuple(_staying(case.caregivers, out, day)))


def _staying(caregivers: Collection[Caregiver], out: Collection[str], day: date) -> Iterator[Caregiver]:
    for caregiver in caregivers:
        if caregiver.id not in out:
            yield caregiver
        elif day > date.min and (caregiver.from_day is None or caregiver.from_day < day):
            last = day - ONE_DAY
            yield replace(caregiver, through=last if caregiver.through is None else min(caregiver.through, last))
