"""Rows worked out again from the records, one chain in one transaction."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator, Mapping
from typing import Any

from django.db import transaction
from django.db.models import Model, ProtectedError

from competency.fields import RefusedError
from training.curriculum.models import Edition, Enrolment, Programme, RuleSet
from training.people.models import Caregiver, Family
from training.records.appending import head_of, lock_chain
from training.records.models import Record
from training.standing.cache import Rows, differing, refresh, worked_out
from training.standing.file import open_file
from training.standing.projecting import (
    Row,
    caregiver_of,
    caregiver_row,
    edition_of,
    edition_row,
    family_differences,
    programme_differences,
    programme_of,
    programme_row,
    rules_of,
    rules_row,
    wanted_family,
    wanted_rows,
)


class NotToBeRebuiltError(Exception):
    """The records of a chain do not give its rows; nothing of it was changed."""


def rebuild_programme(chain: uuid.UUID, *, keep: bool) -> list[str]:
    """Bring a programme's rows to what its chain says, and name what differed. keep False changes nothing."""
    return _rebuilt(chain, programme_differences, _write_programme, keep)


def rebuild_family(chain: uuid.UUID, *, keep: bool) -> list[str]:
    """Bring a family's rows and stored spans to what its chain says, and name what differed."""
    return _rebuilt(chain, _family_and_span_differences, _write_family, keep)


def _rebuilt(
    chain: uuid.UUID,
    differing: Callable[[uuid.UUID], Iterator[str]],
    write: Callable[[uuid.UUID], None],
    keep: bool,
) -> list[str]:
    with transaction.atomic():
        lock_chain(chain)
        found = list(differing(chain))
        if found and keep:
            write(chain)
            left = list(differing(chain))
            if left:
                raise NotToBeRebuiltError("; ".join(left))
    return found


def _write_programme(chain: uuid.UUID) -> None:
    first = Record.objects.of_chain(chain)[0]
    row = wanted_rows(chain, "programme", lambda record: chain, programme_row)[chain]
    programme, _made = Programme.objects.update_or_create(
        public_id=chain, defaults={**row, "organisation": first.organisation, "version": head_of(chain)[1]}
    )
    editions = wanted_rows(chain, "edition", edition_of, edition_row)
    _bring(Edition, {"programme": programme}, ["skill", "number"], editions)
    rules = wanted_rows(chain, "rules", rules_of, rules_row)
    _bring(RuleSet, {"programme": programme}, ["in_force_from", "recorded_at"], rules)


def _write_family(chain: uuid.UUID) -> None:
    first = Record.objects.of_chain(chain)[0]
    row = wanted_family(chain)[chain]
    programme = Programme.objects.filter(public_id=programme_of(chain)).first()
    if programme is None:
        raise NotToBeRebuiltError("the programme its record names is not there")
    family, _made = Family.objects.update_or_create(
        public_id=chain, defaults={**row, "organisation": first.organisation}
    )
    Enrolment.objects.update_or_create(family=family, defaults={"programme": programme})
    caregivers = wanted_rows(chain, "caregiver", caregiver_of, caregiver_row)
    _bring(Caregiver, {"family": family}, ["public_id"], caregivers)
    _refresh(Family.objects.get(pk=family.pk))


def _bring(model: type[Model], owner: Mapping[str, Any], names: list[str], wanted: Mapping[Any, Row]) -> None:
    """Make, change and remove rows until they are the wanted ones."""
    kept = []
    for key, row in wanted.items():
        at = dict(zip(names, key if isinstance(key, tuple) else (key,), strict=True))
        kept.append(model.objects.update_or_create(**owner, **at, defaults=row)[0].pk)
    try:
        model.objects.filter(**owner).exclude(pk__in=kept).delete()
    except ProtectedError as error:
        raise NotToBeRebuiltError(f"{error.args[0]}") from error


# Stored spans ---------------------------------------------------------------------------------------------


def _family_and_span_differences(chain: uuid.UUID) -> Iterator[str]:
    found = list(family_differences(chain))
    yield from found
    family = Family.objects.filter(public_id=chain).first()
    if family is None or found:
        return  # what the spans rest on is wrong already
    worked = _worked_out(family)
    if differing({family.pk: worked}):
        yield f"family {chain}: the stored spans are not what the rules work out"


def _refresh(family: Family) -> None:
    try:
        refresh(open_file(family))
    except RefusedError as error:
        raise NotToBeRebuiltError("the rules refuse its records") from error


def _worked_out(family: Family) -> Rows:
    try:
        return worked_out(open_file(family))
    except RefusedError as error:
        raise NotToBeRebuiltError("the rules refuse its records") from error
