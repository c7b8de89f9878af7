"""Rights are one enum, roles are data, one function asks."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime, timedelta
from enum import StrEnum

from django.db.models import Q

from training.people.models import Assignment, Family, Member, User


class Right(StrEnum):
    READ = "read"  # families, their standings and documents
    RECORD = "record"  # watch a demonstration and sign it; enter items and certificates
    SET_UP = "set_up"  # families, caregivers, care plans, authorisations
    DECIDE = "decide"  # withdraw, override, except, resolve, hold, recheck
    ADMINISTER = "administer"  # members and what they are qualified for
    EXPORT = "export"  # a family's whole record as a file
    READ_LOG = "read_log"  # who did and who looked at what
    DRAFT = "draft"  # write the next edition of a checklist, its sets, team and items
    PUBLISH = "publish"  # put drafts in force, for everybody who follows the programme


CURRICULUM = frozenset({Right.DRAFT, Right.PUBLISH})

ROLES: Mapping[str, frozenset[Right]] = {
    Member.Role.EDUCATOR: frozenset({Right.READ, Right.RECORD, Right.SET_UP}) | CURRICULUM,
    Member.Role.SUPERVISOR: frozenset({Right.READ, Right.RECORD, Right.SET_UP, Right.DECIDE, Right.EXPORT})
    | CURRICULUM,
    Member.Role.ADMINISTRATOR: frozenset({Right.READ, Right.SET_UP, Right.ADMINISTER, Right.EXPORT, Right.READ_LOG})
    | CURRICULUM,
    Member.Role.AUDITOR: frozenset({Right.READ, Right.EXPORT, Right.READ_LOG}),
}


def may(member: Member, right: Right) -> bool:
    """Whether this member has this right, by their role."""
    return right in ROLES[member.role]


def memberships(user: User, now: datetime) -> list[Member]:
    """The places this person has today, each by its own organisation's date; oldest first."""
    rows = Member.objects.filter(Q(user=user.pk)).select_related("organisation", "user").order_by("pk")
    return [m for m in rows if m.from_day <= m.today(now) and (m.through is None or m.today(now) <= m.through)]


# Assigned families ----------------------------------------------------------------------------------------

EMERGENCY = timedelta(hours=24)


def assign(*, member: Member, family: Family, at: datetime) -> Assignment:
    """Let a member work with a family until they no longer do. Once more is no second one."""
    return Assignment.objects.get_or_create(
        member=member, family=family, until=None, defaults={"since": at, "reason": ""}
    )[0]


def unassign(*, member: Member, family: Family, at: datetime) -> int:
    """End everything that opens this family to this member, at once; gives how many there were."""
    return Assignment.objects.of(member).at(at).filter(family=family).update(until=at)


def open_in_emergency(*, member: Member, family: Family, reason: str, at: datetime) -> Assignment:
    """Let a member into a family for a day without being assigned. The reason stands on the family's page."""
    return Assignment.objects.create(member=member, family=family, since=at, until=at + EMERGENCY, reason=reason)
