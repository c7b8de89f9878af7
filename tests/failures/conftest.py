"""A site of real processes on the tests' database, and drafts that are ready to sign."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest
from django.utils import timezone

from tests.cast import ALL_ALONE, Cast, Home, find_cast, make_cast, make_family
from tests.factories import PASSWORD, MemberFactory
from tests.failures.site import Person, Site, site
from training.people.models import Caregiver, Family, Member
from training.standing import deeds, drafts
from training.standing.models import Draft


@dataclass
class Ward:
    """The first organisation with its educator at work."""

    home: Home
    site: Site
    educator: Person

    def family(self, name: str) -> Family:
        return make_family(self.home, name, "Ilse")


@pytest.fixture
def figure(request: pytest.FixtureRequest) -> Callable[[str, object], None]:
    """Note a number for the report at the end of the run."""
    return lambda name, value: request.node.user_properties.append((name, value))


def pytest_terminal_summary(terminalreporter: Any) -> None:
    for report in terminalreporter.getreports("passed") + terminalreporter.getreports("failed"):
        if report.when == "call" and report.user_properties:
            figures = ", ".join(f"{value} {name}" for name, value in report.user_properties)
            terminalreporter.write_line(f"{report.nodeid.rpartition('::')[2]}: {figures}, {report.duration:.1f} s")


@pytest.fixture
def staff(guards_lifted: None) -> Cast:
    return find_cast() or make_cast()


@pytest.fixture
def ward(staff: Cast) -> Iterator[Ward]:
    """Passwords are hashed the quick way."""
    educator = with_password(staff.north.educator)
    with site("quick") as processes:
        yield Ward(staff.north, processes, Person(educator.user))


def with_password(member: Member) -> Member:
    """By the hasher that is set now."""
    member.user.set_password(PASSWORD)
    member.user.save(update_fields=["password"])
    return member


def another_educator(home: Home) -> Member:
    """A new member who may assess every skill."""
    member = with_password(MemberFactory(organisation=home.organisation, role="educator"))
    deeds.qualify(
        observer=member, skill=None, from_day=member.from_day, through=None, by=home.administrator,
        intent=uuid.uuid4(), at=timezone.now(),
    )  # fmt: skip
    return member


def ready_to_sign(author: Member, caregiver: Caregiver, number: int = 1, **more: str) -> list[uuid.UUID]:
    """Drafts of suctioning with every step done alone, seen yesterday; more: what else the draft holds."""
    now = timezone.now()
    begun = drafts.beginning(
        purpose="assessment", on=caregiver.family.today(now) - timedelta(days=1), time="09:00", skill="suction",
        edition=1, setting="patient", role="lead", mode="in_person", place="hospital", observer=author, began=None,
    )  # fmt: skip
    results = {code: _as_typed(seen) for code, seen in ALL_ALONE["suction"].items()}
    ids = [uuid.uuid4() for _ in range(number)]
    Draft.objects.bulk_create(
        Draft(
            public_id=each, intent=each, author=author, caregiver=caregiver, data={**begun, "results": results, **more},
            started_at=now, changed_at=now,
        )
        for each in ids
    )  # fmt: skip
    return ids


def _as_typed(seen: object) -> object:
    return {**seen, "value": str(seen["value"])} if isinstance(seen, dict) else seen
