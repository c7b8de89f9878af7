"""A member who is a caregiver here too, with one account: nobody makes themself ready."""

from __future__ import annotations

import uuid

import pytest

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, demonstration, show, sign_off_suction, write
from training.records.models import Record
from training.standing import deeds
from training.standing.oneself import FOR_SOMEBODY


def keep(who, family, kind, /, **body):
    return deeds.record(family=family, kind=kind, body=body, by=who, intent=uuid.uuid4(), at=NOW)


DAY = TODAY.isoformat()


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def mother(north):
    """The educator's own account is the mother's."""
    mother = north.mother
    mother.user = north.educator.user
    mother.save(update_fields=["user"])
    return mother


def second(member):
    return {"observer": member.observer_id, "results": {"s01": "independent", "s02": "independent"}}


def by_lead(home, caregiver):
    return home.educator, "demonstration", demonstration(caregiver, "hands", TODAY, home.educator)


def by_second(home, caregiver):
    body = demonstration(caregiver, "hands", TODAY, home.supervisor, second=second(home.educator))
    return home.supervisor, "demonstration", body


def for_another_lead(home, caregiver):
    """Typed by the caregiver, as a paper that somebody else filled in."""
    return home.educator, "demonstration", demonstration(caregiver, "hands", TODAY, home.supervisor)


def _of(kind, home, caregiver, **body):
    return home.educator, kind, {"caregiver": caregiver.case_id, "on": DAY, **body}


CASES = {
    "lead": (by_lead, {"observers[0]", "signed"}),
    "second": (by_second, {"second.observer"}),
    "typed": (for_another_lead, {"signed"}),
    "accepted": (
        lambda h, c: _of("accepted", h, c, skill="suction", last_day=None, organisation="An agency"),
        {"signed"},
    ),
    "signature": (lambda h, c: _of("signature", h, c, skill="emergency", by="educator"), {"signed"}),
    "card": (lambda h, c: _of("certificate", h, c, skill="cpr_card", through=None), {"signed"}),
}


@pytest.mark.parametrize("case", CASES)
def test_nobody_stands_for_themself(north, mother, case):
    make, paths = CASES[case]
    before = Record.objects.count()
    by, kind, body = make(north, mother)
    with pytest.raises(RefusedError) as caught:
        keep(by, north.family, kind, **body)
    assert {p.path for p in caught.value.problems} == paths
    assert Record.objects.count() == before


@pytest.mark.parametrize("case", CASES)
def test_the_same_is_taken_of_another_caregiver(north, mother, case):
    by, kind, body = CASES[case][0](north, north.father)
    assert keep(by, north.family, kind, **body).kind == kind


@pytest.mark.parametrize("case", CASES)
def test_an_account_that_was_taken_away_is_nobody_s(north, mother, case):
    mother.user = None
    mother.save(update_fields=["user"])
    by, kind, body = CASES[case][0](north, mother)
    assert keep(by, north.family, kind, **body).kind == kind


def test_no_own_pass_is_let_count(north, mother):
    shown = write(
        north.supervisor,
        north.family,
        "demonstration",
        NOW,
        **demonstration(mother, "tube_change", TODAY, north.supervisor),
    )
    body = {"caregiver": mother.case_id, "record": str(shown.intent), "on": DAY, "reason": "x"}
    with pytest.raises(RefusedError) as caught:
        write(north.educator, north.family, "override", NOW, **body)
    assert "signed" in {p.path for p in caught.value.problems}
    assert write(north.supervisor, north.family, "override", NOW, **body).pk


def test_no_own_dispute_is_resolved(north, mother):
    seen = {"s01": "independent", "s02": "prompted"}
    other = {"observer": north.administrator.observer_id, "results": seen}
    body = demonstration(mother, "hands", TODAY, north.supervisor, second=other)
    shown = write(north.supervisor, north.family, "demonstration", NOW, **body)
    named = {"caregiver": mother.case_id, "record": str(shown.intent), "take": "lead", "on": DAY, "reason": "x"}
    with pytest.raises(RefusedError) as caught:
        write(north.educator, north.family, "resolution", NOW, **named)
    assert "signed" in {p.path for p in caught.value.problems}


def test_their_own_yes_is_theirs(north, mother):
    """As a caregiver they sign as ever."""
    body = {"caregiver": mother.case_id, "skill": "emergency", "on": DAY, "by": "caregiver"}
    assert keep(mother, north.family, "signature", **body).pk


@pytest.mark.parametrize("kind", ["hold", "recheck", "withdrawal"])
def test_what_makes_them_less_ready_is_taken(north, mother, kind):
    sign_off_suction_by_supervisor(north, mother)
    more = {"hold": {"through": None}, "withdrawal": {"cover": "x"}}.get(kind, {})
    body = {"caregiver": mother.case_id, "skill": "suction", "on": DAY, "reason": "x", **more}
    assert write(north.educator, north.family, kind, NOW, **body).pk


def sign_off_suction_by_supervisor(home, caregiver):
    body = demonstration(caregiver, "suction", TODAY, home.supervisor)
    write(home.supervisor, home.family, "demonstration", NOW, **body)


def test_what_was_signed_before_stays(north):
    """An account is linked later: what the other place signed then is history, and the file goes on."""
    sign_off_suction(north, north.mother)
    mother = north.mother
    mother.user = north.educator.user
    mother.save(update_fields=["user"])
    assert show(north, north.father, "hands", TODAY).pk


def test_every_kind_is_tried_here(north, mother):
    tried = {make(north, mother)[1] for make, _paths in CASES.values()} | {"override", "resolution"}
    assert tried == FOR_SOMEBODY
