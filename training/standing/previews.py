"""Before signing: what one demonstration would be judged and bring about, were it signed now."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from competency.readiness import Verdict
from competency.sweep import Judged
from training.curriculum.words import SkillWords
from training.people.models import Caregiver
from training.standing.file import FamilyFile, unsaved
from training.standing.questions import Cell, FamilyOn


@dataclass(frozen=True, slots=True, kw_only=True)
class Brought:
    """A skill whose standing, last day or gate one record would change."""

    skill: SkillWords
    before: Cell
    after: Cell
    opens: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Preview:
    """What one demonstration would be judged and bring about, were it signed now. cell: its own skill, afterwards."""

    judged: Judged | None
    cell: Cell
    brought: tuple[Brought, ...]
    verdict_before: Verdict | None
    verdict_after: Verdict | None


def preview(
    file: FamilyFile, caregiver: Caregiver, body: Mapping[str, Any], intent: uuid.UUID, at: datetime
) -> Preview:
    """Judge a demonstration that is not written yet, and say what signing it would change on that local day.

    Raises RefusedError where the rules refuse the record.
    """
    day = file.family.today(at)
    record = unsaved(file.family, "demonstration", body, intent, at)
    before, after = FamilyOn(file, day), FamilyOn(file.with_record(record), day)
    brought = []
    for old, new in zip(before.cells_of(caregiver), after.cells_of(caregiver), strict=True):
        opens = bool(old.gate) and not new.gate and new.is_required
        if opens or (old.standing, old.last_day) != (new.standing, new.last_day):
            brought.append(Brought(skill=new.skill, before=old, after=new, opens=opens))
    return Preview(
        judged=after.judged(record),
        cell=after.cell(caregiver, body["skill"]),
        brought=tuple(brought),
        verdict_before=before.verdict,
        verdict_after=after.verdict,
    )


# A caregiver's own page -----------------------------------------------------------------------------------
