"""What has to be in place, beside the care plan's sizes, and what caregivers say they checked themselves.

A caregiver's check is their own word: shown as theirs, by name, and never counted as a member's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any

from competency.fields import Problem
from training.curriculum.checks import CheckShown, shown
from training.curriculum.models import Programme
from training.records.models import Record
from training.standing.sanity import Asked, voided_in

if TYPE_CHECKING:
    from training.standing.questions import FactShown, FamilyOn, ItemShown

CHECK = "kit_check"


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnCheck:
    """The last time one caregiver checked one item themselves, in the words of their signature."""

    caregiver: str
    name: str
    relation: str
    on: date
    number: int


@dataclass(frozen=True, slots=True, kw_only=True)
class KitLine:
    """One item on the day. sizes: the care plan's facts that belong to it. plain: for a caregiver.

    hours: of trying that the programme asks for before a member enters it; None where it asks for none.
    spares: the tubes that the programme computes to be at hand, where the item lists the tube's size; for staff alone.
    may_check: whether a caregiver may check it. own: their checks, newest first; none of them counts for the item.
    """

    item: ItemShown
    plain: str
    sizes: tuple[FactShown, ...]
    hours: int | None
    spares: CheckShown | None
    may_check: bool
    own: tuple[OwnCheck, ...]


def items_in_force(programme: Programme, day: date) -> dict[str, dict[str, Any]]:
    """The items of the newest sets, team and items in force on the day, as published, by code."""
    rows = programme.rule_sets.filter(in_force_from__lte=day).order_by("-in_force_from", "-recorded_at")
    newest = rows.first()
    return {item["code"]: item for item in newest.body.get("items", ())} if newest is not None else {}


def judge(asked: Asked) -> Iterator[Problem]:
    """Nobody checks as a caregiver but that caregiver, today, and only what the programme lets them check."""
    body = asked.body
    yield from asked.caregiver()
    if body["signed"]["id"] != body.get("caregiver"):
        yield Problem("caregiver", "is not who signs it; they say what they checked themselves")
    found = items_in_force(asked.file.programme, asked.today).get(str(body.get("item")), {})
    if not found.get("caregiver_may_check"):
        yield Problem("item", "is nothing that a caregiver may check")
    if asked.day("on") != asked.today:
        yield Problem("on", "is not today where the patient is")


def kit(picture: FamilyOn) -> list[KitLine]:
    """Every item of the rules in force on the day."""
    published = items_in_force(picture.file.programme, picture.day)
    spares = _spares(picture)
    facts = {fact.code: fact for fact in picture.facts}
    return [_line(picture, item, published.get(item.code, {}), facts, spares) for item in picture.items]


def _line(
    picture: FamilyOn,
    item: ItemShown,
    said: Mapping[str, Any],
    facts: Mapping[str, FactShown],
    spares: tuple[str, CheckShown] | None,
) -> KitLine:
    sizes = said.get("sizes", ())
    return KitLine(
        item=item,
        plain=str(said.get("plain", item.title)),
        sizes=tuple(facts[f] for f in sizes if f in facts),
        hours=said.get("hours"),
        spares=spares[1] if spares and spares[0] in sizes else None,
        may_check=bool(said.get("caregiver_may_check")),
        own=tuple(_own(picture.records, item.code, picture.day)),
    )


def _spares(picture: FamilyOn) -> tuple[str, CheckShown] | None:
    """The fact with the tube's size, and the spare tubes computed from it; None where the programme wants none."""
    settings = (picture.file.programme.about.get("checks") or {}).get("spares")
    if not settings or picture.care_plan is None:
        return None
    found = shown({"spares": settings}, picture.words, picture.care_plan.data["facts"])
    return settings["tube"], found[0]


def _own(records: Iterable[Record], item: str, day: date) -> Iterator[OwnCheck]:
    rows = list(records)
    gone, named = voided_in(rows), set()
    for record in reversed(rows):
        body = record.data
        if record.kind != CHECK or body["item"] != item or str(record.intent) in gone or body["caregiver"] in named:
            continue
        on = date.fromisoformat(body["on"])
        if on <= day:
            named.add(body["caregiver"])
            signed = body["signed"]
            yield OwnCheck(
                caregiver=body["caregiver"], name=signed["name"], relation=signed["role"], on=on, number=record.number
            )
