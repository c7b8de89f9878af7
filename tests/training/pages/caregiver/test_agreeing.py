"""Others in a family see which skills somebody is ready for, only while that person has agreed, and nothing else."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from competency.fields import RefusedError
from tests.cast import ALL_ALONE, NOW, TODAY, show, sign_off_suction, write
from tests.training.kept import keep
from tests.training.pages.caregiver.acts import address, text
from training.records.models import Record
from training.standing.agreements import agreed_since
from training.standing.signing import MEANINGS


@pytest.fixture
def ready(north):
    sign_off_suction(north, north.father)
    return north


@pytest.fixture
def father(north):
    client = Client()
    client.force_login(north.father.user)
    return client


def agree(client, home, agreed="yes", intent=None):
    client.post(
        reverse("mine-agree", args=[home.father.public_id]), {"intent": intent or str(uuid.uuid4()), "agreed": agreed}
    )


def records(home):
    return list(Record.objects.of_chain(home.family.public_id).filter(kind="agreement"))


def test_nobody_is_seen_before_they_agreed(ready, mother):
    read = text(mother, ready.mother)

    assert "Nobody has agreed to share what they are ready for." in read
    assert "Joram" not in read


def test_who_agreed_is_seen_with_what_they_are_ready_for(ready, mother, father):
    agree(father, ready)
    read = text(mother, ready.mother)

    assert "Joram : Suctioning the tube. This is what they are ready for alone today." in read


def test_it_is_taken_back_at_any_time(ready, mother, father):
    agree(father, ready)
    agree(father, ready, "no")

    assert "Joram" not in text(mother, ready.mother)


def test_agreeing_shows_nothing_of_the_others_to_who_agreed(ready, father):
    sign_off_suction(ready, ready.mother)
    agree(father, ready)

    assert "Marit" not in text(father, ready.father)


def test_it_is_a_dated_record_signed_by_themself(ready, father):
    agree(father, ready)
    body = records(ready)[0].data

    assert (body["agreed"], body["on"]) == (True, "2026-05-14")
    assert (body["signed"]["id"], body["signed"]["meaning"]) == (ready.father.case_id, MEANINGS["agreement"])


def test_the_same_touch_twice_is_one(ready, father):
    intent = str(uuid.uuid4())
    for _ in range(2):
        agree(father, ready, intent=intent)

    assert len(records(ready)) == 1


@pytest.mark.parametrize("what", ["hold", "recheck", "critical", "withdrawal"])
def test_what_somebody_is_not_ready_for_is_never_named(ready, mother, father, what):
    """It is just not in the list: no mark, no word, no reason."""
    agree(father, ready)
    base = {"caregiver": ready.father.case_id, "skill": "suction", "on": TODAY.isoformat(), "reason": "CANARY"}
    if what == "hold":
        write(ready.supervisor, ready.family, "hold", NOW, **base, through=None)
    elif what == "withdrawal":
        write(ready.supervisor, ready.family, "withdrawal", NOW, **base, cover="CANARY")
    elif what == "critical":
        show(ready, ready.father, "suction", TODAY, results={**ALL_ALONE["suction"], "s01": "prompted"},
             reteach={"line": "CANARY", "on": None})  # fmt: skip
    else:
        write(ready.supervisor, ready.family, "recheck", NOW, **base)
    body = mother.get(address(ready.mother)).content.decode()

    assert "Joram</b>: nothing alone today." in body
    assert "CANARY" not in body


def test_who_left_is_not_listed(ready, mother, father):
    agree(father, ready)
    words = {"id": ready.father.case_id, "name": "Joram Okonjo-Lind", "called": "Joram", "relation": "father",
             "born": None, "is_patient": False, "from": None, "through": (TODAY - timedelta(days=1)).isoformat(),
             "sets": ["full"]}  # fmt: skip
    write(ready.educator, ready.family, "caregiver", NOW, **words)

    assert "Joram" not in text(mother, ready.mother)


def test_a_voided_no_does_not_bring_a_yes_back(ready, father):
    agree(father, ready)
    agree(father, ready, "no")
    write(ready.supervisor, ready.family, "void", NOW, record=str(records(ready)[-1].intent), reason="wrong")
    rows = Record.objects.of_chain(ready.family.public_id)

    assert agreed_since(rows, ready.father.case_id) is None


@pytest.mark.parametrize(
    ("who", "changes", "path"),
    [
        ("educator", {}, "caregiver"),
        ("supervisor", {}, "caregiver"),
        ("mother", {}, "caregiver"),
        ("father", {"agreed": "yes"}, "agreed"),
        ("father", {"on": "2026-05-13"}, "on"),
        ("father", {"on": "2026-05-15"}, "on"),
        ("father", {"caregiver": "nobody"}, "caregiver"),
    ],
)
def test_nobody_agrees_for_another_and_not_for_another_day(ready, who, changes, path):
    body = {"caregiver": ready.father.case_id, "agreed": True, "on": "2026-05-14", **changes}
    with pytest.raises(RefusedError) as caught:
        keep(getattr(ready, who), ready.family, "agreement", **body)

    assert path in {p.path for p in caught.value.problems}
    assert records(ready) == []


def test_staff_read_it_among_the_records(ready, father):
    agree(father, ready)
    staff = Client()
    staff.force_login(ready.educator.user)
    page = staff.get(reverse("records", args=[ready.family.public_id])).content.decode()

    assert "Others in the family may see what Joram Okonjo-Lind is ready for" in page


def test_it_moves_no_standing(ready, father):
    from tests.training.test_other_kinds import spans

    before = spans(ready.family)
    agree(father, ready)

    assert spans(ready.family) == before
