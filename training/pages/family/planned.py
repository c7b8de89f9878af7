"""What is planned with the families of a page: the next tube change, and whose turn it is."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from training.pages.board.lines import Line
from training.people.models import Family
from training.records.models import Record
from training.standing.appointments import Appointment, coming


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedHere:
    """One appointment of one family, as a line."""

    family: Family
    day: date
    at: str
    what: str
    turn: str
    number: int


def planned_ahead(lines: Iterable[Line]) -> list[PlannedHere]:
    """Appointments that are still to come on each family's own day, the soonest first; one query for all of them.

    The families are those of one page: an appointment's day stands in its record's body, which no index knows, so that
    asking for those ahead of every family would mean to read what was ever planned.
    """
    by_chain = {line.family.public_id: line for line in lines}
    records = _records(by_chain)
    found = [
        _planned(by_chain[chain], one) for chain, rows in records.items() for one in coming(rows, by_chain[chain].day)
    ]
    return sorted(found, key=lambda planned: (planned.day, planned.at, planned.family.name))


def _records(chains: Iterable[UUID]) -> dict[UUID, list[Record]]:
    """The appointments of these families, and what voids them."""
    rows = Record.objects.filter(chain__in=list(chains), kind__in=("appointment", "void"))
    found: dict[UUID, list[Record]] = defaultdict(list)
    for record in rows.order_by("chain", "number"):
        found[record.chain].append(record)
    return found


def _planned(line: Line, one: Appointment) -> PlannedHere:
    called = {c.case_id: c.full_name for c in line.family.caregivers.all()}
    body = one.body
    return PlannedHere(
        family=line.family,
        day=one.day,
        at=body["at"],
        what=", ".join(filter(None, [*(line.words.skill(s).title for s in body["skills"]), body.get("what")])),
        turn=called.get(body["caregiver"], body["caregiver"]),
        number=one.stands.number,
    )
