"""Whatever is recorded, what is stored is what would be worked out from the start; and only what it touches is touched."""

from __future__ import annotations

import random
import uuid
from contextlib import suppress
from datetime import timedelta
from itertools import pairwise

import pytest
from django.db.models import Max

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, at, authorise, demonstration, plan, show, sign_off_suction, write
from training.people.models import Family
from training.records.models import Record
from training.standing import deeds
from training.standing.board_spans import SPAN
from training.standing.models import AssessedBy, BoardFamily, BoardSpan, CachedStanding
from training.standing.pauses import pause
from training.standing.rebuilding_spans import rebuild


def differing():
    keys = Family.objects.order_by("pk").values_list("pk", flat=True)
    return [family for some in rebuild(keys, keep=False) for family in some.differing]


def qualify(home, **days):
    return deeds.qualify(observer=home.educator, skill=None, by=home.administrator, intent=uuid.uuid4(), at=NOW, **days)


def edit_caregiver(home, caregiver, **changes):
    fields = {
        name: getattr(caregiver, name)
        for name in ("full_name", "called", "relation", "born", "is_patient", "from_day", "through", "sets")
    }
    return deeds.write_caregiver(
        family=caregiver.family,
        caregiver=caregiver,
        by=home.educator,
        intent=uuid.uuid4(),
        at=NOW,
        **{**fields, **changes},
    )


def back_dated(home, rng):
    show(home, home.mother, rng.choice(["hands", "suction"]), TODAY - timedelta(days=rng.randint(0, 60)))


def void(home, rng):
    gone = {r.data["record"] for r in records(home, "void")}
    found = [r for r in records(home, "demonstration", "item", "hold", "recheck") if str(r.intent) not in gone]
    if found:
        write(home.supervisor, home.family, "void", NOW, record=str(rng.choice(found).intent), reason="x")


def records(home, *kinds):
    return Record.objects.of_chain(home.family.public_id).filter(kind__in=kinds)


def care_plan(home, rng):
    day = TODAY - timedelta(days=rng.randint(0, 50))
    taken = {r.data["on"] for r in records(home, "care_plan")}
    if day.isoformat() not in taken:
        facts = {"suction": rng.random() < 0.8, "cuff": rng.choice(["none", "air"]), "tube_id_mm": rng.choice([4, 5])}
        plan(home, home.family, day, facts)


def hold(home, rng):
    day = TODAY - timedelta(days=rng.randint(0, 20))
    through = (day + timedelta(days=rng.randint(0, 40))).isoformat() if rng.random() < 0.7 else None
    write(home.supervisor, home.family, "hold", NOW, caregiver=home.mother.case_id, skill=None, on=day.isoformat(),
          through=through, reason="x")  # fmt: skip


def own_pause(home, rng):
    pause(caregiver=home.mother, intent=uuid.uuid4(), at=NOW)


def item(home, rng):
    on = TODAY - timedelta(days=rng.randint(0, 60))
    write(home.educator, home.family, "item", NOW, item=rng.choice(["kit", "papers"]), on=on.isoformat())


def exception(home, rng):
    through = TODAY + timedelta(days=rng.randint(0, 90))
    body = {
        "missing": rng.choice(["team", "item:kit"]),
        "reason": "x",
        "by": home.supervisor.observer_id,
        "from": TODAY.isoformat(),
        "through": through.isoformat(),
    }
    deeds.record(family=home.family, kind="exception", body=body, by=home.supervisor, intent=uuid.uuid4(), at=NOW)


def recheck(home, rng):
    write(home.supervisor, home.family, "recheck", NOW, caregiver=home.mother.case_id, skill="suction",
          on=TODAY.isoformat(), reason="x")  # fmt: skip


def leave(home, rng):
    through = TODAY - timedelta(days=rng.randint(0, 30)) if rng.random() < 0.6 else None
    edit_caregiver(home, home.father, through=through)


def rename(home, rng):
    edit_caregiver(home, home.father, full_name=f"Joram {rng.randint(1, 9)}")


def qualification(home, rng):
    qualify(home, from_day=TODAY - timedelta(days=rng.randint(0, 90)), through=None)


def end_one(home, rng):
    chain = Record.objects.of_chain(home.organisation.public_id)
    gone = {r.data["record"] for r in chain.filter(kind="void")}
    found = [r for r in chain.filter(kind="qualification") if str(r.intent) not in gone]
    if found:
        deeds.end_qualification(
            qualification=rng.choice(found),
            last_day=TODAY - timedelta(days=rng.randint(0, 90)),
            reason="x",
            by=home.administrator,
            intent=uuid.uuid4(),
            at=NOW,
        )


def close_or_open(home, rng):
    family = Family.objects.get(pk=home.family.pk)
    body = {"why": "moved", "note": ""} if family.closed_on is None else {"reason": "x"}
    kind = "closing" if family.closed_on is None else "reopening"
    write(home.supervisor, family, kind, NOW, on=TODAY.isoformat(), **body)


def another_word(home, rng):
    authorise(home, home.family, "suction", TODAY - timedelta(days=rng.randint(0, 60)))


DEEDS = [
    back_dated, back_dated, back_dated, void, care_plan, hold, own_pause, item, item, exception, recheck, leave, rename,
    qualification, end_one, close_or_open, another_word,
]  # fmt: skip


def fresh(home):
    home.families = [Family.objects.get(pk=family.pk) for family in home.families]
    return home


@pytest.mark.parametrize("deed", dict.fromkeys(DEEDS), ids=lambda deed: deed.__name__)
def test_after_each_kind_of_deed_what_is_stored_is_right(cast, deed):
    sign_off_suction(cast.north, cast.north.mother)
    deed(cast.north, random.Random(1))

    assert differing() == []


@pytest.mark.parametrize("seed", [*range(4), *(pytest.param(n, marks=pytest.mark.long) for n in range(4, 300))])
def test_after_any_sequence_of_deeds_what_is_stored_is_right(cast, seed):
    rng = random.Random(seed)
    for _ in range(rng.randint(5, 12)):
        with suppress(RefusedError):  # such as a demonstration that lacks a step by now
            rng.choice(DEEDS)(fresh(cast.north), rng)

    assert differing() == []


# Exactly what it touches --------------------------------------------------------------------------------------


def rows_of(family):
    return set(BoardSpan.objects.filter(family=family).values_list("pk", flat=True)) | {
        -pk for pk in CachedStanding.objects.filter(family=family).values_list("pk", flat=True)
    }


def newest():
    return [model.objects.aggregate(Max("pk"))["pk__max"] for model in (BoardSpan, CachedStanding)]


def test_a_deed_leaves_another_family_alone(cast):
    other = cast.north.families[1]
    before = rows_of(other)
    sign_off_suction(cast.north, cast.north.mother)

    assert rows_of(other) == before


def test_a_comment_writes_no_row_anew(cast):
    before = newest()
    show(cast.north, cast.north.mother, "hands", TODAY, purpose="practice")
    show(cast.north, cast.north.mother, "hands", TODAY, purpose="practice", time="10:00")

    assert newest()[0] == before[0]


def test_a_qualification_touches_only_families_that_name_the_observer(cast, monkeypatch):
    worked = []
    real = deeds.refresh_followers
    monkeypatch.setattr(deeds, "refresh_followers", lambda families: real(worked.extend(families) or worked))
    sign_off_suction(cast.north, cast.north.mother)
    qualify(cast.north, from_day=TODAY, through=None)

    assert [family.pk for family in worked] == [cast.north.family.pk]


def test_a_second_observer_is_named_too(cast):
    north = cast.north
    body = demonstration(north.mother, "hands", TODAY, north.educator)
    body["second"] = {"observer": north.supervisor.observer_id, "results": body["results"]}
    write(north.educator, north.family, "demonstration", at(TODAY), **body)

    assert set(AssessedBy.objects.values_list("observer", flat=True)) == {
        north.educator.observer_id,
        north.supervisor.observer_id,
    }


def test_the_end_of_a_qualification_moves_standings(cast):
    sign_off_suction(cast.north, cast.north.mother)
    statement = Record.objects.of_chain(cast.north.organisation.public_id).filter(kind="qualification")[0]
    deeds.end_qualification(
        qualification=statement,
        last_day=TODAY - timedelta(days=90),
        reason="x",
        by=cast.north.administrator,
        intent=uuid.uuid4(),
        at=NOW,
    )

    assert not CachedStanding.objects.filter(standing="signed_off").exists()
    assert differing() == []


def test_an_edited_name_is_found_at_once(cast):
    edit_caregiver(cast.north, cast.north.father, full_name="Jörám Øst")

    assert BoardFamily.objects.get(names__contains="joram ost").family == cast.north.family


def test_spans_leave_no_day_out_and_touch(cast):
    sign_off_suction(cast.north, cast.north.mother)
    spans = list(BoardSpan.objects.filter(family=cast.north.family).order_by("first_day"))

    assert spans[0].first_day.toordinal() == 1
    assert spans[-1].last_day == spans[-1].last_day.max
    assert all((b.first_day - a.last_day).days == 1 for a, b in pairwise(spans))
    said = [tuple(getattr(s, name) for name in SPAN[4:]) for s in spans]
    assert all(a != b for a, b in pairwise(said))
