"""What if this person is out: a question asked by the address, answered by the rules, and written nowhere."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.http import QueryDict

from training.documents.record_words import how_many_missing
from training.people.models import Caregiver
from training.standing.questions import FamilyOn, MissingShown

OUT = "out"  # in the address: the public id of a caregiver who is to be thought away, as often as there are such


@dataclass(frozen=True, slots=True, kw_only=True)
class Switch:
    """One caregiver's switch. query: the address with it turned over."""

    caregiver: Caregiver
    is_out: bool
    query: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WhatIf:
    """The switches and, where one is turned, the answer.

    out: who is thought away; picture: the family without them; added: what is missing only then; how_many: all that
    would be missing, in words. back: the address with no switch turned.
    """

    switches: tuple[Switch, ...]
    out: tuple[Caregiver, ...]
    picture: FamilyOn | None
    added: tuple[MissingShown, ...]
    how_many: str
    back: str

    @property
    def changes(self) -> bool:
        return bool(self.added)


def what_if(picture: FamilyOn, asked: QueryDict, today: date) -> WhatIf | None:
    """None where there is no verdict to ask about, or nobody here on the day. An id of nobody here is passed over."""
    here = [c for c in picture.caregivers if picture.history.caregivers[c.case_id].is_here(picture.day)]
    if picture.verdict is None or not here:
        return None
    wanted = set(asked.getlist(OUT))
    out = tuple(c for c in here if str(c.public_id) in wanted)
    day = None if picture.day == today else picture.day
    then = picture.if_out(out) if out else None
    return WhatIf(
        switches=tuple(Switch(caregiver=c, is_out=c in out, query=_query(_turned(here, out, c), day)) for c in here),
        out=out,
        picture=then,
        added=_added(picture, then) if then else (),
        how_many=how_many_missing(then.missing) if then else "",
        back=_query((), day),
    )


def _turned(here: Iterable[Caregiver], out: Iterable[Caregiver], one: Caregiver) -> list[Caregiver]:
    return [c for c in here if (c in out) != (c == one)]


def _query(out: Iterable[Caregiver], day: date | None) -> str:
    query = QueryDict(mutable=True)
    if day is not None:
        query["on"] = day.isoformat()
    query.setlist(OUT, [str(c.public_id) for c in out])
    return query.urlencode()


def _added(now: FamilyOn, then: FamilyOn) -> tuple[MissingShown, ...]:
    """What is missing without them, and is not missing, or is missing in other words, with them."""
    there = {(m.code, m.lines) for m in now.missing}
    return tuple(m for m in then.missing if (m.code, m.lines) not in there)
