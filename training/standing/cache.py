"""Keeps the stored spans in step with the record. They are a cache: `competency` alone decides."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from django.db.models import Model

from competency.history import FamilyHistory
from training.people.models import Caregiver, Family
from training.standing.board_spans import LAPSE, SPAN, board_spans, lapse_days
from training.standing.file import FamilyFile, open_file
from training.standing.folding import folded
from training.standing.models import (
    AssessedBy,
    BoardFamily,
    BoardSpan,
    CachedStanding,
    CachedVerdict,
    CacheState,
    LapseDay,
)
from training.standing.storing import batched, insert

FORM = 2  # one more, and `rebuild_standing` is wanted: what is stored has another form
Row = tuple[Any, ...]
Rows = dict[type[Model], set[Row]]

KEPT: Mapping[type[Model], tuple[str, ...]] = {
    CachedStanding: ("organisation_id", "caregiver_id", "skill", "standing", "start", "through"),
    CachedVerdict: ("organisation_id", "verdict", "start", "through"),
    BoardSpan: SPAN,
    LapseDay: LAPSE,
    BoardFamily: ("organisation_id", "programme_id", "names", "languages", "site"),
    AssessedBy: ("organisation_id", "observer"),
}
STATE = ("head", "programme_version", "qualifications_head", "form")


def refresh(file: FamilyFile, *, head: str | None = None) -> None:
    """Work a family's spans out and store what changed, inside the deed's transaction.

    head: the chain's head where the file's own last record is not the stored row itself.
    """
    store({file.family.pk: worked_out(file)})
    state = {"organisation": file.family.organisation, **dict(zip(STATE, state_of(file, head), strict=True))}
    CacheState.objects.update_or_create(family=file.family, defaults=state)


def refresh_followers(families: Iterable[Family]) -> None:
    """Work out again what a change of the organisation's own records touches."""
    for family in families:
        refresh(open_file(family))


# Working out ------------------------------------------------------------------------------------------------


def worked_out(file: FamilyFile) -> Rows:
    """All that is stored of a family but its state. Raises RefusedError where its records contradict each other."""
    family, history = file.family, file.history()
    caregivers = list(family.caregivers.all())
    standings = list(_standings(caregivers, history))
    return {
        CachedStanding: {(family.organisation_id, *standing) for standing in standings},
        CachedVerdict: {
            (family.organisation_id, span.value.value, span.start, span.through) for span in history.readiness.line
        },
        BoardSpan: set(board_spans(file, caregivers, history)),
        LapseDay: set(lapse_days(file, caregivers, history, standings)),
        BoardFamily: {
            (family.organisation_id, file.programme.pk, _names(family, caregivers), _languages(file), family.site)
        },
        AssessedBy: {(family.organisation_id, observer) for observer in file.assessors},
    }


def state_of(file: FamilyFile, head: str | None = None) -> Row:
    """What the rows come from: the values of STATE."""
    return file.head if head is None else head, file.programme.version, file.staff_head, FORM


def _standings(caregivers: Iterable[Caregiver], history: FamilyHistory) -> Iterator[tuple[int, str, str, date, Any]]:
    for caregiver in caregivers:
        if caregiver.case_id not in history.caregivers:
            continue
        for skill in history.known.programme.skills:
            for span in history.line(caregiver.case_id, skill):
                yield caregiver.pk, skill, span.value.value, span.start, span.through


def _names(family: Family, caregivers: Iterable[Caregiver]) -> str:
    names = [family.name, family.patient_name, family.patient_called]
    names += [name for caregiver in caregivers for name in (caregiver.full_name, caregiver.called)]
    return "\n".join(dict.fromkeys(folded(name) for name in names))


def _languages(file: FamilyFile) -> str:
    """Which languages an interpreter was there for, or was planned for."""
    said = [(r.data.get("interpreter") or {}).get("language") for r in file.records if r.kind in _WITH_INTERPRETER]
    return "\n".join(sorted({folded(language) for language in said if language}))


_WITH_INTERPRETER = frozenset({"demonstration", "appointment"})


# Storing ----------------------------------------------------------------------------------------------------


def store(wanted: Mapping[int, Rows]) -> set[int]:
    """Bring the stored rows of these families, by their keys, to the wanted ones; what is there already stays.

    The families of which something was put right.
    """
    changed: set[int] = set()
    for model, names in KEPT.items():
        gone, new = [], []
        there = stored(model, wanted)
        for family, rows in wanted.items():
            old = there.get(family, {})
            if old.keys() == rows[model]:
                continue
            changed.add(family)
            gone += [pk for row, pk in old.items() if row not in rows[model]]
            new += [(family, *row) for row in rows[model] if row not in old]
        for some in batched(gone):
            model._default_manager.filter(pk__in=some).delete()
        if new:
            insert(model, ("family_id", *names), new)
    return changed


def stored(model: type[Model], families: Iterable[int]) -> dict[int, dict[Row, int]]:
    """What is stored of these families: by family its rows, each with its key."""
    rows = model._default_manager.filter(family__in=list(families)).values_list("family_id", "pk", *KEPT[model])
    found: dict[int, dict[Row, int]] = {}
    for family, pk, *row in rows:
        found.setdefault(family, {})[frozen(row)] = pk
    return found


def frozen(value: Any) -> Any:
    """A value as it was before JSON made lists of it."""
    return tuple(frozen(v) for v in value) if isinstance(value, list | tuple) else value


def differing(wanted: Mapping[int, Rows]) -> list[int]:
    """Those of these families of which something else is stored than is wanted."""
    wrong = set()
    for model in KEPT:
        there = stored(model, wanted)
        wrong |= {family for family, rows in wanted.items() if there.get(family, {}).keys() != rows[model]}
    return [family for family in wanted if family in wrong]
