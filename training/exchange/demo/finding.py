"""What is in the database already: nothing, the demo, or records that are none of the demo's business."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from training.exchange.demo.loading import FamilySheet
from training.exchange.demo.people import organisations
from training.people.models import Member, Organisation, User
from training.records.models import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class LogIn:
    """One account of the demo, as it is printed."""

    username: str
    who: str
    sees: str


def what_is_real() -> list[str]:
    """Why this database is no place for a demo, in words; empty where nothing real is in it."""
    found = []
    for organisation in Organisation.objects.filter(is_invented=False).order_by("title"):
        found.append(f"the organisation “{organisation.title}”")
    count = Record.objects.exclude(organisation__is_invented=True).count()
    if count:
        found.append(f"{count} records of real organisations")
    strangers = User.objects.exclude(memberships__organisation__is_invented=True).exclude(
        caregiving__family__organisation__is_invented=True
    )
    found += [f"the account “{user.username}”" for user in strangers.order_by("username")[:5]]
    return found


def is_here() -> bool:
    """Whether the demo was loaded; it is loaded whole or not at all."""
    titles = [one["title"] for one in organisations()["organisations"]]
    return Organisation.objects.filter(title__in=titles, is_invented=True).count() == len(titles)


def made_on() -> date:
    """The day the demo's dates are counted from, read back from the first member's first day."""
    about = organisations()["organisations"][0]["members"][0]
    first = Member.objects.get(user__username=about["username"]).from_day
    return first - timedelta(days=about["since"])


def log_ins(families: Iterable[FamilySheet]) -> Iterator[LogIn]:
    """Every account: the members of each organisation, each followed by its families' caregivers."""
    families = list(families)
    for one in organisations()["organisations"]:
        yield from (_member(m, one) for m in one["members"])
        for sheet in families:
            if sheet.home == one["key"]:
                yield from (_caregiver(c, sheet) for c in sheet.about["caregivers"] if "account" in c)


def _member(member: dict[str, Any], organisation: dict[str, Any]) -> LogIn:
    credential = f", {member['credential']}" if "credential" in member else ""
    who = f"{member['name']}{credential} ({member['role']}, {organisation['kind']})"
    return LogIn(username=member["username"], who=who, sees=member["sees"])


def _caregiver(person: dict[str, Any], sheet: FamilySheet) -> LogIn:
    who = f"{person['name']} ({person['relation']}, {sheet.about['name']})"
    return LogIn(username=person["account"], who=who, sees=person["sees"])
