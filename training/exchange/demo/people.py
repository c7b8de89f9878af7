"""The demo's organisations, their members, and who may sign in."""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import yaml
from django.conf import settings

from training.curriculum.models import Programme
from training.curriculum.programme_file import read_file
from training.exchange.demo.days import day_of
from training.people.models import Member, Organisation, User
from training.standing import deeds

FIXTURES = Path(settings.BASE_DIR) / "fixtures"
NAMES = uuid.uuid5(uuid.NAMESPACE_OID, "the demo's invented families")
PUBLISHED = datetime(2024, 12, 31, 12, tzinfo=UTC)  # the day before the samples' first day


@dataclass(frozen=True, slots=True, kw_only=True)
class Home:
    """One organisation, as the families' files are written by it. about: its part of organisations.yaml."""

    about: dict[str, Any]
    organisation: Organisation
    programme: Programme
    members: dict[str, Member]

    @property
    def supervisor(self) -> Member:
        return next(m for m in self.members.values() if m.role == Member.Role.SUPERVISOR)

    def observer(self, number: int) -> Member:
        """The members who watch take turns."""
        names = self.about["observers"]
        return self.members[names[number % len(names)]]


def intent(*names: object) -> uuid.UUID:
    """The same names give the same id on every machine, so a family keeps its address."""
    return uuid.uuid5(NAMES, "/".join(str(name) for name in names))


def organisations() -> dict[str, Any]:
    """organisations.yaml as values."""
    return yaml.safe_load((FIXTURES / "demo" / "organisations.yaml").read_text())


def make_home(about: dict[str, Any], hashed: str, now: datetime) -> Home:
    """Write one organisation, its programme, its members and what each may assess. hashed: everybody's password."""
    organisation = Organisation.objects.create(
        title=about["title"], kind=about["kind"], time_zone=about["zone"], is_invented=True
    )
    programme = deeds.publish_programme(
        organisation=organisation,
        file=read_file((FIXTURES / "programmes" / about["programme"]).read_text()),
        at=PUBLISHED,
    )
    members = {m["username"]: _member(m, organisation, hashed, now) for m in about["members"]}
    home = Home(about=about, organisation=organisation, programme=programme, members=members)
    for m in sorted(about["members"], key=lambda m: m["since"]):
        _qualify(home, m)
    return home


def _member(about: dict[str, Any], organisation: Organisation, hashed: str, now: datetime) -> Member:
    user = User.objects.create(username=about["username"], password=hashed, full_name=about["name"])
    return Member.objects.create(
        public_id=intent("member", about["username"]),
        organisation=organisation,
        user=user,
        role=about["role"],
        credential=about.get("credential", ""),
        from_day=day_of(about["since"], _today(organisation, now)),
    )


def _today(organisation: Organisation, now: datetime) -> date:
    return now.astimezone(ZoneInfo(organisation.time_zone)).date()


def _qualify(home: Home, about: dict[str, Any]) -> None:
    """Every skill where the file says ``all``, else the skills it lists; none for who does not watch."""
    listed = about.get("qualified", [])
    observer = home.members[about["username"]]
    at = datetime.combine(observer.from_day, time(8), ZoneInfo(home.organisation.time_zone))
    for skill in [None] if listed == "all" else listed:
        deeds.qualify(
            observer=observer,
            skill=skill,
            from_day=observer.from_day,
            through=None,
            by=next(m for m in home.members.values() if m.role == Member.Role.ADMINISTRATOR),
            intent=intent("qualification", about["username"], skill),
            at=at,
        )
