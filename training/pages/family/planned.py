"""What is planned across all families a member works with: the next tube change, and whose turn it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from training.people.models import Family
from training.records.models import Record
from training.standing.appointments import Appointment, coming
from training.standing.file import words_in


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedHere:
    """One appointment of one family, as a line."""

    family: Family
    day: date
    at: str
    what: str
    turn: str
    number: int


def planned_ahead(families: Iterable[Family], day_of: dict[int, date]) -> list[PlannedHere]:
    """Appointments that are still to come, the soonest first; two queries whatever the number of families.

    families: with their caregivers and programme fetched. day_of: each family's own today, by its key.
    """
    by_chain = {family.public_id: family for family in families}
    records = _records(by_chain)
    found = [
        _line(by_chain[chain], one)
        for chain, rows in records.items()
        for one in coming(rows, day_of[by_chain[chain].pk])
    ]
    return sorted(found, key=lambda line: (line.day, line.at, line.family.name))


def _records(by_chain: dict[UUID, Family]) -> dict[UUID, list[Record]]:
    """The appointments of these families, and the voids that may concern them."""
    planned = Record.objects.filter(chain__in=by_chain, kind="appointment")
    voids = Record.objects.filter(chain__in=planned.values("chain"), kind="void")
    found: dict[UUID, list[Record]] = defaultdict(list)
    for record in _in_order([*planned, *voids]):
        found[record.chain].append(record)
    return found


def _in_order(records: list[Record]) -> Iterator[Record]:
    yield from sorted(records, key=lambda record: (record.chain, record.number))


def _line(family: Family, one: Appointment) -> PlannedHere:
    programme = family.enrolment.programme
    words = words_in(programme.pk, programme.version)
    called = {c.case_id: c.full_name for c in family.caregivers.all()}
    body = one.body
    return PlannedHere(
        family=family,
        day=one.day,
        at=body["at"],
        what=", ".join(filter(None, [*(words.skill(s).title for s in body["skills"]), body.get("what")])),
        turn=called.get(body["caregiver"], body["caregiver"]),
        number=one.stands.number,
    )
