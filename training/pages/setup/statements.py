"""What each member may assess, as the organisation's own records state it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _

from training.curriculum.models import Programme
from training.people.models import Member
from training.records.models import Record


def skill_titles(member: Member) -> dict[str, str]:
    """What the skills of the organisation's programmes are called."""
    programmes = Programme.objects.visible_to(member)
    return {skill["code"]: skill["title"] for programme in programmes for skill in programme.about["skills"]}


def skills_of_all(member: Member) -> dict[str, str]:
    """The skills that every programme of the organisation has: what may be named in a statement for all families."""
    programmes = [{s["code"] for s in p.about["skills"]} for p in Programme.objects.visible_to(member)]
    shared = set.intersection(*programmes) if programmes else set()
    return {code: title for code, title in skill_titles(member).items() if code in shared}


@dataclass(frozen=True, slots=True, kw_only=True)
class Voided:
    """That a statement no longer holds, or through an earlier day only: why, who said so, and when."""

    reason: str
    by: str
    at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """That somebody may assess a skill, or every skill, on these days. record: what states it."""

    title: str
    from_day: date
    through: date | None
    record: Record
    by: str
    at: datetime
    voided: Voided | None


def statements(member: Member) -> dict[str, list[Statement]]:
    """Every statement of the organisation that is not voided, by the observer it is about."""
    return _by_observer(s for s in _all(member) if s.voided is None)


def history(member: Member, observer: Member) -> list[Statement]:
    """Every statement there ever was about this observer, the newest first."""
    return _by_observer(_all(member)).get(observer.observer_id, [])[::-1]


def _by_observer(found: Iterable[Statement]) -> dict[str, list[Statement]]:
    sorted_out: dict[str, list[Statement]] = {}
    for statement in found:
        sorted_out.setdefault(statement.record.data["observer"], []).append(statement)
    return sorted_out


def _all(member: Member) -> list[Statement]:
    titles = skill_titles(member)
    zone = ZoneInfo(member.organisation.time_zone)
    records = list(Record.objects.of_chain(member.organisation.public_id))
    voids = {r.data["record"]: r for r in reversed(records) if r.kind == "void"}  # the first one of a statement
    return [_statement(r, voids.get(str(r.intent)), titles, zone) for r in records if r.kind == "qualification"]


def _statement(record: Record, void: Record | None, titles: dict[str, str], zone: ZoneInfo) -> Statement:
    body = record.data
    return Statement(
        title=titles.get(body["skill"], body["skill"]) if body["skill"] else _("Every skill"),
        from_day=date.fromisoformat(body["from"]),
        through=date.fromisoformat(body["through"]) if body["through"] else None,
        record=record,
        by=body["signed"]["name"],
        at=record.recorded_at.astimezone(zone),
        voided=_voided(void, zone) if void is not None else None,
    )


def _voided(void: Record, zone: ZoneInfo) -> Voided:
    body = void.data
    return Voided(reason=body["reason"], by=body["signed"]["name"], at=void.recorded_at.astimezone(zone))
