"""The deeds, from a post to the spans: one look that the rooms fit together."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest
from django.db import IntegrityError, transaction

from competency.fields import RefusedError
from competency.readiness import Verdict
from competency.standing import Standing
from tests.cast import NOW, TODAY, Cast, demonstration, show, sign_off_suction, write
from training.records.appending import AlreadyRecordedError
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.models import CachedStanding, CachedVerdict
from training.standing.previews import preview
from training.standing.questions import FamilyOn


def standing(cast: Cast, skill: str, day: date = TODAY) -> Standing | None:
    family = cast.north.family
    return FamilyOn(open_file(family), day).cell(cast.north.mother, skill).standing


def test_two_passes_on_two_days_sign_suction_off(cast):
    sign_off_suction(cast.north, cast.north.mother)

    assert standing(cast, "suction") is Standing.SIGNED_OFF


def test_the_day_before_the_second_pass_it_was_in_training(cast):
    sign_off_suction(cast.north, cast.north.mother)

    assert standing(cast, "suction", TODAY - timedelta(days=11)) is Standing.IN_TRAINING


def test_tube_change_waits_for_suction(cast):
    picture = FamilyOn(open_file(cast.north.family), TODAY)

    assert picture.cell(cast.north.mother, "tube_change").gate == ("suction", "hands")


def test_the_stored_spans_say_what_the_rules_say(cast):
    sign_off_suction(cast.north, cast.north.mother)
    picture = FamilyOn(open_file(cast.north.family), TODAY)
    stored = CachedStanding.objects.filter(caregiver=cast.north.mother, skill="suction").order_by("start")

    assert [(s.standing, s.start, s.through) for s in stored] == [
        (s.value.value, s.start, s.through) for s in picture.line(cast.north.mother, "suction")
    ]


def test_another_deed_is_not_answered_with_what_its_intent_wrote(cast):
    """Else a page would say that a hold was signed where a demonstration was."""
    home, intent = cast.north, uuid.uuid4()
    body = demonstration(home.mother, "hands", TODAY, home.educator)
    deeds.record(family=home.family, kind="demonstration", body=body, by=home.educator, intent=intent, at=NOW)
    hold = {"caregiver": home.mother.case_id, "skill": None, "on": str(TODAY), "through": None}
    with pytest.raises(AlreadyRecordedError):
        deeds.record(family=home.family, kind="hold", body=hold, by=home.supervisor, intent=intent, at=NOW)

    assert not Record.objects.of_chain(home.family.public_id).filter(kind="hold").exists()


def test_nobody_is_ready_at_first(cast):
    stored = CachedVerdict.objects.get(family=cast.north.family)

    assert (stored.verdict, stored.through) == (Verdict.NOT_READY.value, None)


def test_the_same_intent_twice_is_one_record(cast):
    body = demonstration(cast.north.mother, "hands", TODAY, cast.north.educator)
    intent = uuid.uuid4()
    made = [
        deeds.record(
            family=cast.north.family, kind="demonstration", body=body, by=cast.north.educator, intent=intent, at=NOW
        )
        for _ in range(2)
    ]

    assert made[0] == made[1]
    assert Record.objects.filter(intent=intent).count() == 1


def test_a_demonstration_that_lies_ahead_is_refused_at_its_field(cast):
    body = demonstration(cast.north.mother, "hands", TODAY + timedelta(days=1), cast.north.educator)

    with pytest.raises(RefusedError) as refusal:
        write(cast.north.educator, cast.north.family, "demonstration", NOW, **body)

    assert [p.path for p in refusal.value.problems] == ["on"]


def test_later_the_same_day_lies_ahead_too(cast):
    body = demonstration(cast.north.mother, "hands", TODAY, cast.north.educator, time="10:01")

    with pytest.raises(RefusedError) as refusal:
        write(cast.north.educator, cast.north.family, "demonstration", NOW, **body)

    assert [p.path for p in refusal.value.problems] == ["time"]


def test_a_missing_result_is_named(cast):
    body = demonstration(cast.north.mother, "hands", TODAY, cast.north.educator, results={"s01": "independent"})

    with pytest.raises(RefusedError) as refusal:
        write(cast.north.educator, cast.north.family, "demonstration", NOW, **body)

    assert [str(p) for p in refusal.value.problems] == ["results.s02: is missing"]


def test_a_refused_deed_writes_nothing(cast):
    before = Record.objects.count()
    body = demonstration(cast.north.mother, "hands", TODAY, cast.north.educator, results={})

    with pytest.raises(RefusedError):
        write(cast.north.educator, cast.north.family, "demonstration", NOW, **body)

    assert Record.objects.count() == before


@pytest.mark.parametrize("deed", [lambda r: r.update(kind="x"), lambda r: r.delete()])
def test_the_database_refuses_to_change_a_record(cast, deed):
    with pytest.raises(IntegrityError, match="never changed"), transaction.atomic():
        deed(Record.objects.all())


def test_the_preview_says_what_a_pass_would_open(cast):
    mother, family = cast.north.mother, cast.north.family
    show(cast.north, mother, "hands", TODAY - timedelta(days=5))
    show(cast.north, mother, "suction", TODAY - timedelta(days=4))
    body = demonstration(mother, "suction", TODAY, cast.north.educator)

    seen = preview(open_file(family), mother, body, uuid.uuid4(), NOW)

    assert [(b.skill.code, b.after.standing, b.opens) for b in seen.brought] == [
        ("suction", Standing.SIGNED_OFF, False),
        ("tube_change", Standing.NOT_STARTED, True),
    ]
