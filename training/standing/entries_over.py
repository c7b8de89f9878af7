"""Entries over many families, by their kind: what a supervisor asks for across files. Nothing is decided here."""

from __future__ import annotations

import heapq
import uuid
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import islice
from typing import Any

from django.db.models import prefetch_related_objects

from competency.standing import Span, Standing, regained_on
from training.people.models import Family, Member
from training.records.models import Record, RecordQuerySet
from training.standing.models import CachedStanding

AT_MOST = 200
LOOKED_THROUGH = 50_000  # records, the newest; some seconds' work
AT_ONCE = 500
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
    """The newest first. more: whether there are others than these. cut: whether older records were left unread."""

    lines: tuple[Entry, ...]
    more: bool = False
    cut: bool = False


def entries_over(member: Member, asked: Asked, now: datetime) -> Entries:
    """The records that answer, of the open files this member may see, but for those voided or over."""
    rows = _rows(member)
    if asked.back is not None:
        rows = rows.filter(recorded_at__gte=now - timedelta(days=asked.back))
    by_kind = [rows.filter(kind=kind).newest_first(AT_ONCE) for kind in sorted(asked.kinds)]
    newest = heapq.merge(*by_kind, key=_when, reverse=True)
    found: list[Entry] = []
    looked = islice(newest, LOOKED_THROUGH)
    while some := list(islice(looked, AT_ONCE)):
        found += _answering(member, asked, some, now)
        if len(found) > AT_MOST:
            return Entries(lines=_with_programmes(found[:AT_MOST]), more=True)
    return Entries(lines=_with_programmes(found), cut=next(newest, None) is not None)


def _with_programmes(found: list[Entry]) -> tuple[Entry, ...]:
    prefetch_related_objects([entry.family for entry in found], "organisation", "enrolment__programme")
    return tuple(found)


def _rows(member: Member) -> RecordQuerySet:
    """The records among which those of the families this member may see are; others may be too."""
    rows = Record.objects.filter(organisation=member.organisation)
    if member.sees_assigned_only:
        return rows.filter(chain__in=list(Family.objects.visible_to(member).values_list("public_id", flat=True)))
    return rows


def _when(record: Record) -> tuple[datetime, int]:
    return record.recorded_at, record.pk


def _answering(member: Member, asked: Asked, some: list[Record], now: datetime) -> Iterator[Entry]:
    """Those of these records that answer."""
    chains = {record.chain for record in some}
    families = {f.public_id: f for f in Family.objects.visible_to(member).filter(public_id__in=chains)}
    voids = Record.objects.filter(organisation=member.organisation, chain__in=families, kind="void")
    gone = {r.data["record"] for r in voids}
    withdrawals = [r for r in some if r.kind == "withdrawal" and r.chain in families]
    if withdrawals:
        gone |= _regained(withdrawals, families, now)
    for record in some:
        family = families.get(record.chain)
        if family is None or str(record.intent) in gone:
            continue
        today = family.today(now)
        if not family.is_closed_on(today) and asked.wanted(record, family, today):
            yield Entry(family=family, record=record)


def _regained(withdrawals: list[Record], families: Mapping[uuid.UUID, Family], now: datetime) -> set[str]:
    """The intents of those after which the skill was signed off again, by the stored standings."""
    rows = CachedStanding.objects.filter(
        family__in=list(families.values()),
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
