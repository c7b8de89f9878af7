"""The table of caregivers and skills on one day: heads, rows, and what a cell has room for."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from competency.standing import Standing
from training.curriculum.models import Edition
from training.curriculum.sentences import is_card, standard_brief
from training.curriculum.words import SkillWords
from training.people.models import Caregiver
from training.standing.questions import Cell, FactShown, FamilyOn, written

SOON = 30  # days left, from which they are said


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """A caregiver above their column. signed_off of asked: skills that are asked of them and required."""

    caregiver: Caregiver
    sets: str
    signed_off: int
    asked: int
    stay: str


@dataclass(frozen=True, slots=True, kw_only=True)
class GridRow:
    """One skill. is_off: required of nobody on the day, so the whole row is quiet; why says so once."""

    skill: SkillWords
    brief: str
    is_card: bool
    cells: tuple[Cell, ...]
    is_off: bool
    why: str


def heads(family: FamilyOn) -> list[Head]:
    return [_head(family, caregiver) for caregiver in family.caregivers]


def _head(family: FamilyOn, caregiver: Caregiver) -> Head:
    known = family.history.caregivers[caregiver.case_id]
    asked = [c for c in family.cells_of(caregiver) if c.asked and c.is_required]
    stay = ""
    if known.from_day is not None and known.from_day > family.day:
        stay = _("from %(day)s") % {"day": written(known.from_day)}
    elif known.through is not None:
        stay = _("in the family through %(day)s") % {"day": written(known.through)}
    return Head(
        caregiver=caregiver,
        sets=", ".join(family.words.set(s) for s in known.sets),
        signed_off=sum(1 for c in asked if c.standing is Standing.SIGNED_OFF),
        asked=len(asked),
        stay=stay,
    )


def editions_on(rows: Iterable[Edition], day: date) -> dict[str, Mapping[str, Any]]:
    """The body of each skill's newest edition in force on the day."""
    found: dict[str, Mapping[str, Any]] = {}
    for edition in sorted(rows, key=lambda e: e.number):
        if edition.in_force_from <= day:
            found[edition.skill] = edition.body
    return found


def rows(family: FamilyOn) -> list[GridRow]:
    editions = editions_on(family.file.programme.editions.all(), family.day)
    return [_row(skill, cells, editions.get(skill.code)) for skill, cells in family.rows]


def _row(skill: SkillWords, cells: list[Cell], edition: Mapping[str, Any] | None) -> GridRow:
    is_off = bool(cells) and all(c.standing is Standing.NOT_REQUIRED for c in cells)
    return GridRow(
        skill=skill,
        brief=standard_brief(edition) if edition else "",
        is_card=edition is not None and is_card(edition),
        cells=tuple(cells),
        is_off=is_off,
        why=cells[0].reasons[0].text if is_off and cells[0].reasons else "",
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Fact:
    """A fact of the care plan and, where an earlier entry said otherwise, since when it is so."""

    shown: FactShown
    changed: date | None


def facts(family: FamilyOn) -> list[Fact]:
    changed = _changes(family)
    return [Fact(shown=shown, changed=changed.get(shown.code)) for shown in family.facts]


def _changes(family: FamilyOn) -> dict[str, date]:
    """The day each fact last became another than it was before."""
    found: dict[str, date] = {}
    before: Mapping[str, str] = {}
    for entry in family.history.known.care_plan:
        if entry.on > family.day:
            break
        for fact, value in entry.facts.items():
            if fact in before and before[fact] != value:
                found[fact] = entry.on
        before = {**before, **entry.facts}
    return found
