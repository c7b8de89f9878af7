"""Many people sign at once, each through the pages, against several serving processes."""

from __future__ import annotations

import threading
import time
import uuid
from collections.abc import Iterator

import pytest
from django.test import override_settings

from tests.cast import Cast, make_family
from tests.failures.conftest import another_educator, ready_to_sign
from tests.failures.site import Person, Server, Site, site
from tests.failures.whole import misfits, ruins, stale
from training.people.models import Family, Member
from training.records.models import Record
from training.standing.models import Draft

PROCESSES = 2


class Writer(threading.Thread):
    """Signs its drafts one after another and keeps what it was shown that it should not have been."""

    def __init__(self, person: Person, server: Server, drafts: list[uuid.UUID]) -> None:
        super().__init__(daemon=True)
        self.person, self.server, self.drafts = person, server, drafts
        self.errors: list[str] = []
        self.longest = 0.0

    def run(self) -> None:
        for draft in self.drafts:
            began = time.perf_counter()
            answer = self.person.sign(self.server, draft)
            self.longest = max(self.longest, time.perf_counter() - began)
            if answer.status != 302 or "/records/" not in answer.location:
                self.errors.append(f"{answer.status} {answer.location} {answer.said}")


def write_at_once(processes: Site, members: list[Member], families: list[Family], each: int) -> list[Writer]:
    servers = [processes.serve() for _ in range(PROCESSES)]
    writers = []
    for place, member in enumerate(members):
        family = families[place % len(families)]
        caregiver = family.caregivers.all()[place // len(families) % 2]
        drafts = ready_to_sign(member, caregiver, each)
        writers.append(Writer(Person(member.user), servers[place % PROCESSES], drafts))
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    return writers


def counted(families: list[Family]) -> int:
    return Record.objects.filter(chain__in=[f.public_id for f in families], kind="demonstration").count()


def check(processes: Site, cast: Cast, writers: int, families: int, each: int, figure) -> None:
    members = [another_educator(cast.north) for _ in range(writers)]
    homes = [make_family(cast.north, f"Vesper-{n}", "Ilse") for n in range(families)]
    began = time.perf_counter()
    done = write_at_once(processes, members, homes, each)
    figure("signatures", counted(homes))
    figure("s writing", round(time.perf_counter() - began, 1))
    figure("s the longest", round(max(writer.longest for writer in done), 1))

    assert [error for writer in done for error in writer.errors] == []
    assert counted(homes) == writers * each
    assert Draft.objects.count() == 0
    assert [wrong for home in homes for wrong in misfits(home)] == []
    assert [home.name for home in homes if stale(home)] == []
    assert ruins() == []


@pytest.fixture
def quick(staff: Cast) -> Iterator[Site]:
    with site("quick") as processes:
        yield processes


@pytest.fixture
def earnest(staff: Cast) -> Iterator[Site]:
    """Passwords are hashed as in service, by every process."""
    from training.settings import PASSWORD_HASHERS

    with override_settings(PASSWORD_HASHERS=PASSWORD_HASHERS), site() as processes:
        yield processes


@pytest.mark.parametrize("families", [8, 1])
def test_eight_writers_make_every_record_once(quick, staff, families, figure):
    check(quick, staff, 8, families, 5, figure)


@pytest.mark.long
def test_thirty_two_writers_in_eight_families_make_every_record_once(earnest, staff, figure):
    check(earnest, staff, 32, 8, 100, figure)


@pytest.mark.long
def test_thirty_two_writers_in_one_family_make_every_record_once(earnest, staff, figure):
    """Ten each: a file of 320 demonstrations is far beyond any family's, and judging it takes longer each time."""
    check(earnest, staff, 32, 1, 10, figure)
