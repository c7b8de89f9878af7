"""Entries over many families, by their kind: what a supervisor asks for across files. Nothing is decided here."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from competency.standing import Span, Standing, regained_on
from training.people.models import Family, Member
from training.records.models import Record
from training.standing.models import CachedStanding

AT_MOST = 200
Wanted = Callable[[Record, Family, date], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """Which records answer a question. back: days of recording looked through; None: all there ever were."""

    kinds: frozenset[str]
    back: int | None
    wanted: Wanted = lambda record, family, today: True


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    family: Family
    record: Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Entries:
    """The newest first. more: whether there are others than these."""

    lines: tuple[Entry, ...]
    more: bool


def entries_over(member: Member, asked: Asked, now: datetime) -> Entries:
    """The records that answer, of the open files this member may see, but for those voided or over."""
    families = {
        f.public_id: f for f in Family.objects.visible_to(member).select_related("organisation", "enrolment__programme")
    }
    rows = Record.objects.filter(
        organisation=member.organisation, chain__in=Family.objects.visible_to(member).values("public_id")
    )
    gone = {r.data["record"] for r in rows.filter(kind="void")}
    if "withdrawal" in asked.kinds:
        gone |= _regained(member, list(rows.filter(kind="withdrawal")), families, now)
    if asked.back is not None:
        rows = rows.filter(recorded_at__gte=now - timedelta(days=asked.back))
    found: list[Entry] = []
    for record in rows.filter(kind__in=asked.kinds).order_by("-recorded_at", "-pk").iterator():
        family = families[record.chain]
        today = family.today(now)
        if str(record.intent) in gone or family.is_closed_on(today) or not asked.wanted(record, family, today):
            continue
        if len(found) == AT_MOST:
            return Entries(lines=tuple(found), more=True)
        found.append(Entry(family=family, record=record))
    return Entries(lines=tuple(found), more=False)


def _regained(
    member: Member, withdrawals: list[Record], families: Mapping[uuid.UUID, Family], now: datetime
) -> set[str]:
    """The intents of those after which the skill was signed off again, by the stored standings."""
    rows = CachedStanding.objects.filter(
        family__in=Family.objects.visible_to(member),
        caregiver__public_id__in={r.data["caregiver"] for r in withdrawals},
        skill__in={r.data["skill"] for r in withdrawals},
    )
    lines: defaultdict[tuple[str, str], list[Span[Standing]]] = defaultdict(list)
    for person, skill, value, start, through in rows.order_by("start").values_list(
        "caregiver__public_id", "skill", "standing", "start", "through"
    ):
        lines[str(person), skill].append(Span(Standing(value), start, through))
    return {
        str(r.intent)
        for r in withdrawals
        if regained_on(
            lines[r.data["caregiver"], r.data["skill"]],
            date.fromisoformat(r.data["on"]),
            families[r.chain].today(now),
        )
    }


# What is asked for ----------------------------------------------------------------------------------------


def _holds(record: Record, family: Family, today: date) -> bool:
    """A withdrawal (one that is over was left out before), or a hold that is in force today."""
    body: Mapping[str, Any] = record.data
    if record.kind == "withdrawal":
        return True
    return body["on"] <= today.isoformat() and (body.get("through") is None or today.isoformat() <= body["through"])


def _late(record: Record, family: Family, today: date) -> bool:
    """Corrected or decided about; else of a day before it was recorded, or typed from paper."""
    if record.kind in ("void", "resolution", "override"):
        return True
    written = record.recorded_at.astimezone(family.zone).date().isoformat()
    return record.data["on"] < written or bool(record.data.get("transcribed"))


def _to_review(record: Record, family: Family, today: date) -> bool:
    """Its last day is near, or has just been."""
    through = record.data.get("through")
    if through is None:
        return False
    return abs((date.fromisoformat(through) - today).days) <= REVIEW_DAYS


REVIEW_DAYS = 60
ASKED: Mapping[str, Asked] = {
    "entries": Asked(kinds=frozenset({"void", "resolution", "override", "demonstration"}), back=90, wanted=_late),
    "incidents": Asked(kinds=frozenset({"event"}), back=365),
    "kit": Asked(kinds=frozenset({"item", "kit_check"}), back=90),
    "holds": Asked(kinds=frozenset({"hold", "withdrawal"}), back=None, wanted=_holds),
    "authorisations": Asked(kinds=frozenset({"authorisation"}), back=None, wanted=_to_review),
    "rechecks": Asked(kinds=frozenset({"recheck", "care_plan"}), back=90),
    "outside": Asked(kinds=frozenset({"outside_evidence", "handover"}), back=365),
}
