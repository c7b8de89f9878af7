"""Sets people hold, and whether together they meet the team rule (design 4.7)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from competency.dates import birthday
from competency.programme import Alternative, People


@dataclass(frozen=True, slots=True)
class Person:
    """A caregiver on one day: the sets held, and what age and patient say."""

    id: str
    born: date | None
    is_patient: bool
    holds: frozenset[str]


def is_old_enough(born: date | None, minimum_age: int | None, day: date) -> bool:
    """Whether somebody has turned this age by ``day``. Without a birth date an age is not met."""
    return minimum_age is None or (born is not None and birthday(born, minimum_age) <= day)


def fits(person: Person, row: People, day: date) -> bool:
    return row.set in person.holds and is_old_enough(person.born, row.minimum_age, day)


def match(alternative: Alternative, people: Sequence[Person], day: date) -> tuple[int, Mapping[int, str]]:
    """Place people, each once, so that as many places as can be are filled.

    Returns the number of places and who fills which, by place. A team of one may be the patient only where the
    alternative says so; in a larger team at least one is always somebody else.
    """
    places = [row for row in alternative.people for _ in range(row.count)]
    alone = len(places) == 1 and not alternative.patient_alone
    candidates = [p for p in people if not (alone and p.is_patient)]
    filled: dict[int, int] = {}

    def place(person: int, tried: set[int]) -> bool:
        for i, row in enumerate(places):
            if i in tried or not fits(candidates[person], row, day):
                continue
            tried.add(i)
            if i not in filled or place(filled[i], tried):
                filled[i] = person
                return True
        return False

    for person in range(len(candidates)):
        place(person, set())
    return len(places), {i: candidates[person].id for i, person in filled.items()}


def is_met(alternative: Alternative, people: Sequence[Person], day: date) -> bool:
    places, filled = match(alternative, people, day)
    return len(filled) == places


def first_met(team: Sequence[Alternative], people: Sequence[Person], day: date) -> Alternative | None:
    """The first alternative that is met; None where none is, and where no team rule is in force."""
    return next((a for a in team if is_met(a, people, day)), None)


def nearest(team: Sequence[Alternative], people: Sequence[Person], day: date) -> Alternative | None:
    """The alternative with the fewest places left open, the first of several."""

    def left_open(alternative: Alternative) -> int:
        places, filled = match(alternative, people, day)
        return places - len(filled)

    return min(team, key=left_open, default=None)
