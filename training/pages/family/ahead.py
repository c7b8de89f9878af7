"""What comes next in a family: what runs out, if nothing more happens, and what may be practised."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _

from competency.programme import Evidence
from competency.standing import Standing
from training.documents.record_words import exceptions_of
from training.people.models import Caregiver
from training.standing.questions import Cell, Coming, FamilyOn, written

DAYS = 90


@dataclass(frozen=True, slots=True, kw_only=True)
class Ahead:
    """Something that changes by itself on a day. coming: the standing, where it is one that changes."""

    day: date
    text: str
    coming: Coming | None = None


def ahead(family: FamilyOn, days: int = DAYS) -> list[Ahead]:
    """Standings, items and exceptions that run out within so many days of the date, soonest first."""
    last = family.day + timedelta(days=days) if family.day < date.max - timedelta(days=days) else date.max
    found = [_standing(c) for c in family.coming(days)] if last < date.max else []
    found += [a for a in (*_items(family), *_exceptions(family)) if family.day < a.day <= last]
    return sorted(found, key=lambda a: a.day)


def coming_words(coming: Coming) -> str:
    names = {
        "skill": coming.skill.title,
        "name": coming.caregiver.called,
        "last": written(coming.day - timedelta(days=1)),
    }
    if coming.standing is Standing.LAPSED:
        return _("%(skill)s lapses: %(name)s. %(last)s is the last day.") % names
    if coming.standing is Standing.HELD:
        return _("%(skill)s is held from this day: %(name)s.") % names
    return _("%(skill)s: the wait for signatures ends, %(name)s. %(last)s is the last day for them.") % names


def _standing(coming: Coming) -> Ahead:
    return Ahead(day=coming.day, text=coming_words(coming), coming=coming)


def _items(family: FamilyOn) -> Iterator[Ahead]:
    for item in family.items:
        if item.is_done and item.through is not None and item.through < date.max:
            said = {"item": item.title, "day": written(item.through)}
            text = _("%(item)s goes out of date. %(day)s is the last day.") % said
            yield Ahead(day=item.through + timedelta(days=1), text=text)


def _exceptions(family: FamilyOn) -> Iterator[Ahead]:
    for x in exceptions_of(family.missing):
        said = {"missing": x.title, "day": written(x.through)}
        text = _("The exception for “%(missing)s” ends. %(day)s is its last day.") % said
        yield Ahead(day=x.through + timedelta(days=1), text=text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    caregiver: Caregiver
    cells: tuple[Cell, ...]


def may_practise(family: FamilyOn) -> list[Practice]:
    """Who may practise what on the patient on the date, under a clinician's eye; not what is signed off anyway."""
    cards = {code for code, skill in family.file.rules.skills.items() if skill.evidence is Evidence.CERTIFICATE}
    found = []
    for caregiver in family.caregivers:
        if not family.history.caregivers[caregiver.case_id].is_here(family.day):
            continue
        cells = tuple(
            c
            for c in family.cells_of(caregiver)
            if c.may_practise and c.asked and c.skill.code not in cards and c.standing is not Standing.SIGNED_OFF
        )
        if cells:
            found.append(Practice(caregiver=caregiver, cells=cells))
    return found


@dataclass(frozen=True, slots=True, kw_only=True)
class Gates:
    """One caregiver's closed gates: waiting: (skill, what it waits for); opens: (skill, what it alone opens)."""

    caregiver: Caregiver
    waiting: tuple[tuple[str, str], ...]
    opens: tuple[tuple[str, str], ...]


_ON_THE_WAY = frozenset({Standing.NOT_STARTED, Standing.IN_TRAINING, Standing.LAPSED, Standing.WITHDRAWN})


def gates(family: FamilyOn) -> list[Gates]:
    found = []
    for caregiver in family.caregivers:
        closed = [c for c in family.cells_of(caregiver) if c.asked and c.gate and c.standing in _ON_THE_WAY]
        alone: dict[str, list[str]] = {}
        for cell in closed:
            if len(cell.gate) == 1:
                alone.setdefault(cell.gate[0], []).append(cell.skill.title)
        found.append(
            Gates(
                caregiver=caregiver,
                waiting=tuple((c.skill.title, _titles(family, c.gate)) for c in closed),
                opens=tuple((_titles(family, (code,)), ", ".join(titles)) for code, titles in alone.items()),
            )
        )
    return found


def _titles(family: FamilyOn, codes: tuple[str, ...]) -> str:
    return ", ".join(family.words.skill(code).title for code in codes)
