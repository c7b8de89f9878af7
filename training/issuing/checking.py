"""Whether a document is genuine, and whether it still holds. Who asks may be anybody, so the answer names nobody."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import AbstractContextManager, nullcontext
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum
from typing import Any

from django.db.models import Min, Q

from training.issuing.basis import Basis
from training.issuing.kinds import KINDS
from training.issuing.models import Document
from training.issuing.numbers import number_typed
from training.records.models import Record
from training.standing.file import open_file
from training.standing.models import CachedStanding, CachedVerdict
from training.tenancy import scope


class State(StrEnum):
    CURRENT = "current"
    SUPERSEDED = "superseded"
    ALTERED = "altered"  # the number is ours, the file is not what was given out under it
    NOT_OURS = "not_ours"  # no file like this was given out: altered, or never from here
    UNKNOWN = "unknown"  # no document has this number


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """What anybody may be told. number, kind, on, made_on: of the document, where there is one. since: the day it was
    superseded. is_compared: a file was put in and is the document byte for byte. is_other: its number is not the one
    that was typed.
    """

    state: State
    number: str = ""
    kind: str = ""
    on: date | None = None
    made_on: date | None = None
    since: date | None = None
    is_compared: bool = False
    is_other: bool = False


def check(*, number: str, digest: str, now: datetime) -> Found:
    """Answer for a number as typed, a file's SHA-256 in hex digits, or both; either may be empty."""
    typed = number_typed(number)
    if not digest:
        return _found(typed, now) or Found(state=State.UNKNOWN)
    by_file = _found(digest, now)
    if by_file is not None:
        return _with(by_file, is_compared=True, is_other=bool(number.strip()) and typed != by_file.number)
    by_number = _found(typed, now)
    return _with(by_number, state=State.ALTERED, since=None) if by_number else Found(state=State.NOT_OURS)


def _with(found: Found, **changes: Any) -> Found:
    return Found(**{**{name: getattr(found, name) for name in Found.__slots__}, **changes})


def _found(wanted: str, now: datetime) -> Found | None:
    """The document of this number or digest as it is today."""
    if not wanted:
        return None
    with _where_given_out(wanted):
        rows = Document.objects.filter(Q(number=wanted) | Q(sha256=wanted))
        document = rows.select_related("family__organisation", "family__enrolment__programme", "caregiver").last()
        if document is None:
            return None
        since = min(_ends(document, now), default=None)
        return Found(
            state=State.CURRENT if since is None else State.SUPERSEDED,
            number=document.number,
            kind=str(KINDS[document.kind].title),
            on=document.on,
            made_on=document.family.today(document.made_at),
            since=since,
        )


def _where_given_out(wanted: str) -> AbstractContextManager[None]:
    """Who holds a number or the bytes may have the database asked of what they were made from."""
    organisation = scope.giving_out(wanted)
    return nullcontext() if organisation is None else scope.inside(organisation)


def _ends(document: Document, now: datetime) -> Iterator[date]:
    """Every day from which the document is out of date."""
    basis = Basis(open_file(document.family), document.kind, document.caregiver)
    for records, number in (
        (basis.family_records, document.family_number),
        (basis.programme_records, document.programme_number),
        (basis.staff_records, document.staff_number),
    ):
        newer: Record | None = next((record for record in records if record.number > number), None)
        if newer is not None:
            yield document.family.today(newer.recorded_at)
    today = document.family.today(now)
    if KINDS[document.kind].states:
        yield from _run_out(document, today)
    if KINDS[document.kind].states_plan:
        yield from _next_plan(basis, document.on, today)


def _next_plan(basis: Basis, on: date, today: date) -> Iterator[date]:
    """The first day of each care plan entry that was recorded ahead and has begun since the document's day."""
    voided = {record.data["record"] for record in basis.file.records if record.kind == "void"}
    for record in basis.family_records:
        if record.kind == "care_plan" and str(record.intent) not in voided:
            first = date.fromisoformat(record.data["on"])
            if on < first <= today:
                yield first


def _run_out(document: Document, today: date) -> Iterator[date]:
    """The first day after a standing or verdict of the document's day, where today is past it."""
    standings = CachedStanding.objects.filter(family=document.family_id)
    verdicts = CachedVerdict.objects.filter(family=document.family_id)
    if document.caregiver_id is not None:
        standings, verdicts = standings.filter(caregiver=document.caregiver_id), verdicts.none()
    for spans in (standings, verdicts):
        stated = spans.filter(start__lte=document.on, through__gte=document.on, through__lt=today)
        last: date | None = stated.aggregate(last=Min("through"))["last"]
        if last is not None:
            yield last + timedelta(days=1)
