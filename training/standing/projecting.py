"""Rows that follow from records: what each must say, how a deed keeps it so, and what differs.

`Family` and `Caregiver` follow from the family's chain, `Programme`, `Edition` and `RuleSet` from the programme's.
The account of a caregiver is in no record, and is left as it is. No message holds a value: a name or a birth date
would end up in a log.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from typing import Any

from django.db.models import Model

from training.curriculum.models import Enrolment, Programme
from training.curriculum.programme_file import plain
from training.people.models import Caregiver, Family
from training.records.appending import head_of
from training.records.models import Record
from training.standing.cache import STATE, state_of
from training.standing.file import open_file
from training.standing.models import CacheState

Row = dict[str, Any]


class NotToBeProjectedError(Exception):
    """A record whose body does not say what its kind should: no deed wrote it."""


# What a record says of a row ------------------------------------------------------------------------------


def project(family: Family, made: Record) -> None:
    """Bring the rows up to date with a record that was just made."""
    if made.kind == "family":
        row = family_row(made)
        for name, value in row.items():
            setattr(family, name, value)
        family.save(update_fields=list(row))
    elif made.kind in LEAVING:
        row = leaving_row(made)
        for name, value in row.items():
            setattr(family, name, value)
        family.save(update_fields=list(row))
    elif made.kind == "caregiver":
        Caregiver.objects.update_or_create(public_id=caregiver_of(made), family=family, defaults=caregiver_row(made))


def family_row(record: Record) -> Row:
    body = record.data
    return {
        "name": body["name"],
        "patient_name": body["patient"]["name"],
        "patient_called": body["patient"]["called"],
        "patient_born": _day(body["patient"]["born"]),
        "time_zone": body["zone"],
        "site": body.get("site", ""),  # records from before there were sites have none
    }


LEAVING = ("closing", "reopening", "offer_accepted")
_STAYS: Row = {"closed_on": None, "closed_why": "", "handed_over_on": None, "handed_over_to": ""}


def leaving_row(record: Record) -> Row:
    """What a closing, an opening again or a hand-over changes of a family's row."""
    body = record.data
    if record.kind == "closing":
        return {"closed_on": _day(body["on"]), "closed_why": body["why"]}
    if record.kind == "reopening":
        return {"closed_on": None, "closed_why": ""}
    return {"handed_over_on": _day(body["on"]), "handed_over_to": body["to"]}


def caregiver_of(record: Record) -> uuid.UUID:
    return uuid.UUID(record.data["id"])


def caregiver_row(record: Record) -> Row:
    body = record.data
    return {
        "full_name": body["name"],
        "called": body["called"],
        "relation": body["relation"],
        "born": _day(body["born"]),
        "is_patient": body["is_patient"],
        "from_day": _day(body["from"]),
        "through": _day(body["through"]),
        "sets": body["sets"],
    }


def programme_row(record: Record) -> Row:
    body = _unsigned(record)
    return {"code": body["code"], "title": body["title"], "about": body}


def edition_of(record: Record) -> tuple[str, int]:
    return record.data["skill"], record.data["edition"]


def edition_row(record: Record) -> Row:
    body = _unsigned(record)
    del body["skill"]
    return {
        "in_force_from": date.fromisoformat(body["in_force_from"]),
        "recorded_at": record.recorded_at,
        "body": body,
    }


def rules_of(record: Record) -> tuple[Any, ...]:
    return date.fromisoformat(record.data["in_force_from"]), record.recorded_at


def rules_row(record: Record) -> Row:
    return {"body": _unsigned(record)}


def _unsigned(record: Record) -> Row:
    """What was published, without who signed it."""
    return plain({key: value for key, value in record.data.items() if key != "signed"})


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None


def _said(record: Record, says: Callable[[Record], Any]) -> Any:
    try:
        return says(record)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise NotToBeProjectedError(f"record {record.number} is no {record.kind} that a deed wrote") from error


# What differs ---------------------------------------------------------------------------------------------


def wanted_rows(
    chain: uuid.UUID, kind: str, key: Callable[[Record], Any], row: Callable[[Record], Row]
) -> dict[Any, Row]:
    """The rows a chain's records of this kind ask for; the last one on each counts."""
    records = Record.objects.of_chain(chain).filter(kind=kind)
    return {_said(record, key): _said(record, row) for record in records}


def wanted_family(chain: uuid.UUID) -> dict[Any, Row]:
    """The family's row: its first page, and whether it is closed or handed over."""
    rows = wanted_rows(chain, "family", lambda record: chain, family_row)
    for row in rows.values():
        row.update(_STAYS)
        for record in Record.objects.of_chain(chain).filter(kind__in=LEAVING):
            row.update(_said(record, leaving_row))
    return rows


def differences(what: str, wanted: Mapping[Any, Row], there: Iterable[Model], names: Iterable[str]) -> Iterator[str]:
    """Where the stored rows are not what the records ask for. names: the fields that are the rows' key."""
    found = {_key(row, names): row for row in there}
    for key, fields in wanted.items():
        name = f"{what} {_named(key)}"
        if key not in found:
            yield f"{name}: the row is missing"
            continue
        for field, value in fields.items():
            if getattr(found[key], field) != value:
                yield f"{name}: {field} is not what its record says"
    for key in found.keys() - wanted.keys():
        yield f"{what} {_named(key)}: no record speaks of this row"


def _key(row: Model, names: Iterable[str]) -> Any:
    values = tuple(getattr(row, name) for name in names)
    return values[0] if len(values) == 1 else values


def _named(key: Any) -> str:
    return " ".join(str(part) for part in key) if isinstance(key, tuple) else str(key)


def family_differences(chain: uuid.UUID) -> Iterator[str]:
    """Where a family's rows differ from its chain, and where its stored spans come from another head."""
    family = Family.objects.filter(public_id=chain).select_related("organisation").first()
    wanted = wanted_family(chain)
    yield from differences("family", wanted, [family] if family else [], ["public_id"])
    if family is None:
        return
    caregivers = wanted_rows(chain, "caregiver", caregiver_of, caregiver_row)
    yield from differences("caregiver", caregivers, family.caregivers.all(), ["public_id"])
    if Record.objects.of_chain(chain).exclude(organisation=family.organisation_id).exists():
        yield f"family {chain}: its records are another organisation's"
    enrolment = Enrolment.objects.filter(family=family).select_related("programme").first()
    if enrolment is None or enrolment.programme.public_id != programme_of(chain):
        yield f"family {chain}: the programme it follows is not the one its record names"
    else:
        yield from _spans_from_elsewhere(family)


def programme_of(chain: uuid.UUID) -> uuid.UUID | None:
    """The programme that a family's records name."""
    named = None
    for record in Record.objects.of_chain(chain).filter(kind="family"):
        if "programme" in record.data:
            named = _said(record, lambda found: uuid.UUID(found.data["programme"]))
    return named


def _spans_from_elsewhere(family: Family) -> Iterator[str]:
    state = CacheState.objects.filter(family=family).first()
    if state is None:
        yield f"family {family.public_id}: no spans are stored"
        return
    for field, value in zip(STATE, state_of(open_file(family)), strict=True):
        if getattr(state, field) != value:
            yield f"family {family.public_id}: the stored spans come from another {field.replace('_', ' ')}"


def programme_differences(chain: uuid.UUID) -> Iterator[str]:
    """Where a programme's rows differ from its chain."""
    programme = Programme.objects.filter(public_id=chain).first()
    wanted = wanted_rows(chain, "programme", lambda record: chain, programme_row)
    yield from differences("programme", wanted, [programme] if programme else [], ["public_id"])
    if programme is None:
        return
    if programme.version != head_of(chain)[1]:
        yield f"programme {chain}: version is not the head of its chain"
    if Record.objects.of_chain(chain).exclude(organisation=programme.organisation_id).exists():
        yield f"programme {chain}: its records are another organisation's"
    editions = wanted_rows(chain, "edition", edition_of, edition_row)
    yield from differences("edition", editions, programme.editions.all(), ["skill", "number"])
    rules = wanted_rows(chain, "rules", rules_of, rules_row)
    yield from differences("rules", rules, programme.rule_sets.all(), ["in_force_from", "recorded_at"])


def rows_without_records() -> Iterator[str]:
    """Families and programmes that no chain speaks of."""
    for what, model in (("family", Family), ("programme", Programme)):
        chains = Record.objects.values("chain")
        for public_id in model.objects.exclude(public_id__in=chains).values_list("public_id", flat=True):
            yield f"{what} {public_id}: its records are gone"
