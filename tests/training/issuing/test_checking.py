"""What makes a document superseded, and what does not."""

from __future__ import annotations

import hashlib
import uuid
from datetime import date, timedelta

import pytest
import time_machine

from tests.cast import NOW, TODAY, at, authorise, plan, show, sign_off_suction, write
from tests.training.issuing.conftest import checklist_of, number_in, packet_of
from training.issuing.checking import State, check
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def packet(cast, fetch):
    sign_off_suction(cast.north, cast.north.mother)
    return fetch(cast.north.educator, packet_of(cast.north.family))


@pytest.fixture
def checklist(cast, fetch):
    return fetch(cast.north.educator, checklist_of(cast.north.mother))


def ask(data, now=NOW, number=None):
    return check(number=number_in(data) if number is None else number, digest="", now=now)


def qualify(home, member):
    """Another statement of what a member may assess."""
    deeds.qualify(
        observer=member, skill=None, from_day=TODAY, through=None, by=home.administrator, intent=uuid.uuid4(), at=NOW
    )


def plan_ahead(home):
    """An entry recorded now for three days on."""
    first, facts = TODAY + timedelta(days=3), {"suction": True, "cuff": "none", "tube_id_mm": 6}
    return write(home.educator, home.family, "care_plan", NOW, on=first.isoformat(), time=None, facts=facts)


def test_fresh_from_the_site_it_is_current(packet):
    found = ask(packet)

    assert (found.state, found.kind, found.on, found.made_on, found.since) == (
        State.CURRENT,
        "Discharge-readiness packet",
        TODAY,
        TODAY,
        None,
    )


def test_what_is_newer_supersedes_it_on_its_day(cast, packet):
    later = NOW + timedelta(days=2)
    with time_machine.travel(later, tick=False):
        write(
            cast.north.educator, cast.north.family, "item", later,
            item=next(iter(_items(cast.north.family))), on=later.date().isoformat(),
        )  # fmt: skip
    found = ask(packet, later + timedelta(days=5))

    assert (found.state, found.since) == (State.SUPERSEDED, TODAY + timedelta(days=2))


def _items(family):
    return [i.code for i in FamilyOn(open_file(family), TODAY).items]


def test_another_familys_records_do_not(cast, packet):
    show(cast.north, cast.north.families[1].caregivers.first(), "hands", TODAY)

    assert ask(packet).state is State.CURRENT


def test_a_newer_care_plan_supersedes_the_checklist(cast, checklist):
    plan(cast.north, cast.north.family, TODAY, {"suction": True, "cuff": "none", "tube_id_mm": 6})

    assert ask(checklist).state is State.SUPERSEDED


def test_a_demonstration_or_an_authorisation_does_not(cast, checklist):
    show(cast.north, cast.north.father, "hands", TODAY)
    authorise(cast.north, cast.north.family, "suction", TODAY, TODAY + timedelta(days=9))

    assert ask(checklist).state is State.CURRENT


def test_a_voided_care_plan_supersedes_the_checklist(cast, checklist):
    entry = FamilyOn(open_file(cast.north.family), TODAY).care_plan
    write(cast.north.supervisor, cast.north.family, "void", NOW, record=str(entry.intent), reason="Wrong family.")

    assert ask(checklist).state is State.SUPERSEDED


@pytest.mark.parametrize("paper", ["packet", "checklist"])
def test_a_care_plan_recorded_ahead_supersedes_it_on_its_first_day(cast, fetch, paper):
    plan_ahead(cast.north)
    of = packet_of(cast.north.family) if paper == "packet" else checklist_of(cast.north.mother)
    data = fetch(cast.north.educator, of)

    states = [ask(data, NOW + timedelta(days=n)).state for n in (0, 2, 3)]
    assert states == [State.CURRENT, State.CURRENT, State.SUPERSEDED]
    assert ask(data, NOW + timedelta(days=9)).since == TODAY + timedelta(days=3)


def test_one_recorded_ahead_and_voided_does_not(cast, fetch):
    ahead = plan_ahead(cast.north)
    write(cast.north.supervisor, cast.north.family, "void", NOW, record=str(ahead.intent), reason="Wrong family.")
    data = fetch(cast.north.educator, checklist_of(cast.north.mother))

    assert ask(data, NOW + timedelta(days=9)).state is State.CURRENT


def test_what_is_said_of_the_observer_supersedes_the_packet(cast, packet):
    qualify(cast.north, cast.north.educator)

    assert ask(packet).state is State.SUPERSEDED


def test_what_is_said_of_somebody_who_watched_nobody_here_does_not(cast, packet):
    qualify(cast.north, cast.north.supervisor)

    assert ask(packet).state is State.CURRENT


def test_a_standing_that_runs_out_supersedes_it_the_day_after(cast, packet):
    span = FamilyOn(open_file(cast.north.family), TODAY).cell(cast.north.mother, "suction")
    last = span.through
    assert last is not None

    states = [ask(packet, at(last + timedelta(days=n), 9)).state for n in (0, 1)]
    assert states == [State.CURRENT, State.SUPERSEDED]
    assert ask(packet, at(last + timedelta(days=40))).since == last + timedelta(days=1)


def test_a_checklist_states_no_standing_and_does_not_run_out(checklist):
    assert ask(checklist, at(date(2031, 1, 1))).state is State.CURRENT


def test_a_number_nobody_gave_out(packet):
    assert [check(number=n, digest="", now=NOW).state for n in ("7K3M-PQ9X-2DFA", "nonsense", "")] == [
        State.UNKNOWN
    ] * 3


def test_a_file_under_a_number(packet):
    number, digest = number_in(packet), hashlib.sha256(packet).hexdigest()
    other = hashlib.sha256(packet + b"\n").hexdigest()

    assert check(number=number, digest=digest, now=NOW).is_compared
    assert check(number="", digest=digest, now=NOW).number == number
    assert check(number=number, digest=other, now=NOW).state is State.ALTERED
    assert check(number="", digest=other, now=NOW).state is State.NOT_OURS
    assert check(number="7K3M-PQ9X-2DFA", digest=digest, now=NOW).is_other
