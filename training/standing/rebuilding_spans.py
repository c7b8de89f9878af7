"""The stored spans of many families worked out again, or compared, some hundred at a time.

Nothing is locked while a family is worked out. Before its rows are written its chain is locked and its head looked at
once more; a family in which somebody recorded meanwhile is worked out anew, under the lock.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import islice
from typing import Any

from django.db import transaction
from django.db.models import Max

from competency.fields import RefusedError
from training.curriculum.models import Enrolment
from training.people.models import Family
from training.records.appending import hold_still, lock_chain
from training.records.models import Record
from training.settling import collected_once
from training.standing.cache import STATE, Rows, differing, state_of, store, worked_out
from training.standing.file import FamilyFile
from training.standing.models import CacheState

AT_ONCE = 100  # families in one transaction


@dataclass(kw_only=True)
class Rebuilt:
    """families: how many were looked at. differing, refused: their public ids; what is refused keeps its rows."""

    families: int = 0
    differing: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    def add(self, other: Rebuilt) -> None:
        self.families += other.families
        self.differing += other.differing
        self.refused += other.refused


def rebuild(families: Iterable[int], *, keep: bool = True, round_: int = 0) -> Iterator[Rebuilt]:
    """Work the spans of these families, by their keys, out again; what came of each hundred is given as it is done.

    keep False compares and writes nothing. round_: what `CacheState.rebuilt` says afterwards; 0 leaves it.
    """
    for keys in hundreds(families):
        yield rebuild_some(keys, keep=keep, round_=round_)


def hundreds(families: Iterable[int]) -> Iterator[list[int]]:
    rest = iter(families)
    while keys := list(islice(rest, AT_ONCE)):
        yield keys


def last_round() -> int:
    return CacheState.objects.aggregate(Max("rebuilt"))["rebuilt__max"] or 0


def left_over(round_: int) -> list[int]:
    """The families that this round has not come to; every family for a round that has not begun."""
    done = CacheState.objects.filter(rebuilt__gte=round_).values("family")
    return list(Family.objects.exclude(pk__in=done).order_by("pk").values_list("pk", flat=True))


# One hundred --------------------------------------------------------------------------------------------------


@collected_once()
def rebuild_some(keys: list[int], *, keep: bool, round_: int) -> Rebuilt:
    """The same for so many as fit into one transaction."""
    done = Rebuilt(families=len(keys))
    files = open_files(keys)
    wanted = _worked_out(files, done)
    if not keep:
        done.differing = _named(files, wanted, {*differing(wanted), *_from_elsewhere(files, wanted)})
        return done
    with transaction.atomic():
        for key in wanted:
            lock_chain(files[key].family.public_id)
        _hold_what_they_rest_on(files)
        moved = _moved({key: files[key] for key in wanted})
        again = open_files(moved)
        files |= again
        for key in moved:
            del wanted[key]
        wanted |= _worked_out(again, done)
        wrong = _from_elsewhere(files, wanted)
        done.differing = _named(files, wanted, store(wanted) | wrong)
        _keep_states(files, wanted, round_)
    return done


def open_files(keys: list[int]) -> dict[int, FamilyFile]:
    """The files of these families, by their keys, in a fixed number of queries."""
    rows = Family.objects.filter(pk__in=keys).select_related("organisation", "enrolment__programme")
    families = {family.pk: family for family in rows.prefetch_related("caregivers").order_by("pk")}
    chains: dict[object, list[Record]] = {}
    for family in families.values():
        chains[family.public_id] = chains[family.organisation.public_id] = []
    for chain in chains:
        chains[chain] = []
    for record in Record.objects.filter(chain__in=chains).order_by("chain", "number"):
        chains[record.chain].append(record)
    return {
        key: FamilyFile(
            family, chains[family.public_id], chains[family.organisation.public_id], family.enrolment.programme
        )
        for key, family in families.items()
    }


def _moved(files: dict[int, FamilyFile]) -> list[int]:
    """Those in whose chain, or in a chain they rest on, something was written after they were read."""
    read = {f.family.public_id: _last(f.records) for f in files.values()}
    read |= {f.family.organisation.public_id: _last(f.staff_records) for f in files.values()}
    numbers = Record.objects.filter(chain__in=read).order_by().values("chain").annotate(last=Max("number"))
    grown = {row["chain"] for row in numbers if row["last"] != read[row["chain"]]}
    programmes = Enrolment.objects.filter(family__in=files).values_list("family", "programme__version")
    changed = {family for family, version in programmes if version != files[family].programme.version}
    return [
        key
        for key, file in files.items()
        if key in changed or not grown.isdisjoint((file.family.public_id, file.family.organisation.public_id))
    ]


def _last(records: list[Record]) -> int:
    return records[-1].number if records else 0


def _worked_out(files: dict[int, FamilyFile], done: Rebuilt) -> dict[int, Rows]:
    found = {}
    for key, file in files.items():
        try:
            found[key] = worked_out(file)
        except RefusedError:
            done.refused.append(str(file.family.public_id))
    return found


def _hold_what_they_rest_on(files: dict[int, FamilyFile]) -> None:
    for chain in sorted({file.programme.public_id for file in files.values()}):
        hold_still(chain)
    for chain in sorted({file.family.organisation.public_id for file in files.values()}):
        hold_still(chain)


def _from_elsewhere(files: dict[int, FamilyFile], wanted: dict[int, Rows]) -> set[int]:
    """The families whose rows do not say that they come from what is worked out now."""
    states = {
        key: tuple(state) for key, *state in CacheState.objects.filter(family__in=wanted).values_list("family", *STATE)
    }
    return {key for key in wanted if states.get(key) != state_of(files[key])}


def _named(files: dict[int, FamilyFile], wanted: Iterable[int], wrong: Collection[int]) -> list[str]:
    return [str(files[key].family.public_id) for key in wanted if key in wrong]


def _keep_states(files: dict[int, FamilyFile], wanted: dict[int, Rows], round_: int) -> None:
    rows = []
    for key in wanted:
        state: dict[str, Any] = dict(zip(STATE, state_of(files[key]), strict=True))
        organisation = files[key].family.organisation_id
        rows.append(CacheState(organisation_id=organisation, family_id=key, rebuilt=round_, **state))
    fields = [*STATE, "rebuilt"] if round_ else list(STATE)
    CacheState.objects.bulk_create(rows, update_conflicts=True, unique_fields=["family"], update_fields=fields)
