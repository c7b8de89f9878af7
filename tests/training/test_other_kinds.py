"""Records that the rules do not read: they are judged before they are written, and count for nothing."""

from __future__ import annotations

import uuid
from datetime import date, timedelta

import pytest

from competency.fields import RefusedError
from tests.cast import NOW, TODAY, show, sign_off_suction, write
from tests.training.kept import (
    appointment_body,
    comment_body,
    end_body,
    event_body,
    keep,
    off_body,
    start_body,
    stepped_in_body,
)
from training.records.models import Record
from training.standing import deeds
from training.standing.appointments import appointments_of, coming
from training.standing.file import OTHER_KINDS, open_file
from training.standing.models import CachedStanding, CachedVerdict
from training.standing.questions import FamilyOn
from training.standing.signing import MEANINGS


@pytest.fixture
def north(cast):
    return cast.north


def refused(who, family, kind, /, **body):
    """The paths at which a record is refused; nothing is written."""
    before = Record.objects.of_chain(family.public_id).count()
    with pytest.raises(RefusedError) as caught:
        keep(who, family, kind, **body)
    assert Record.objects.of_chain(family.public_id).count() == before
    return sorted({p.path for p in caught.value.problems})


def everything(home):
    """One record of each of these kinds, and what belongs to them."""
    educator, family, mother = home.educator, home.family, home.mother
    shown = show(home, mother, "hands", TODAY)
    found = [keep(educator, family, "event", **event_body(mother))]
    found.append(keep(mother, family, "comment", **comment_body(mother, shown)))
    found.append(keep(educator, family, "stay", **start_body()))
    found.append(keep(educator, family, "stay", **stepped_in_body(found[-1])))
    found.append(keep(educator, family, "stay", **end_body(found[2])))
    found.append(keep(educator, family, "appointment", **appointment_body(mother)))
    return found


def spans(family):
    standings = CachedStanding.objects.filter(family=family).order_by("caregiver", "skill", "start")
    verdicts = CachedVerdict.objects.filter(family=family).order_by("start")
    return [
        *standings.values_list("caregiver", "skill", "standing", "start", "through"),
        *verdicts.values_list("verdict", "start", "through"),
    ]


def test_no_standing_and_no_verdict_is_another_because_of_them(north):
    sign_off_suction(north, north.mother)
    show(north, north.mother, "hands", TODAY)
    before = spans(north.family)
    everything(north)

    assert spans(north.family) == before


def test_the_case_holds_none_of_them(north):
    made = everything(north)
    data = open_file(north.family).case_data(TODAY)

    assert [str(r.intent) for r in made if str(r.intent) in str(data)] == []


def test_their_void_is_not_put_into_the_case(north):
    """A case in which nothing has the voided id would be refused, and with it the whole file from then on."""
    for made in everything(north):
        write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="wrong")
    file = open_file(north.family)

    assert file.case_data(TODAY)["voids"] == []
    assert FamilyOn(file, TODAY).verdict is not None


def test_the_void_of_a_record_the_rules_read_is_in_the_case(north):
    everything(north)
    shown = show(north, north.mother, "hands", TODAY)
    void = write(north.supervisor, north.family, "void", NOW, record=str(shown.intent), reason="wrong")

    assert [v["id"] for v in open_file(north.family).case_data(TODAY)["voids"]] == [str(void.intent)]


def test_a_void_of_nothing_is_refused_still(north):
    assert refused(north.supervisor, north.family, "void", record=str(uuid.uuid4()), reason="x") != []


def test_a_file_as_known_before_their_void_can_be_read(north):
    made = everything(north)[0]
    write(north.supervisor, north.family, "void", NOW + timedelta(hours=1), record=str(made.intent), reason="wrong")

    assert FamilyOn(open_file(north.family), TODAY, NOW).verdict is not None


def test_each_kind_says_what_its_signature_means():
    assert [kind for kind in sorted(OTHER_KINDS) if not MEANINGS.get(kind)] == []


def test_the_same_intent_twice_is_one_record(north):
    intent = uuid.uuid4()
    body = event_body(north.mother)
    made = [
        deeds.record(family=north.family, kind="event", body=body, by=north.educator, intent=intent, at=NOW)
        for _ in range(2)
    ]

    assert made[0].pk == made[1].pk


# An event


@pytest.mark.parametrize(
    ("changes", "paths"),
    [
        ({"on": "2026-05-15"}, ["on"]),
        ({"on": "2026-05-14", "time": "10:01"}, ["time"]),
        ({"time": None}, ["time"]),
        ({"on": "soon"}, ["time"]),
        ({"who": []}, ["who"]),
        ({"who": ["nobody"]}, ["who"]),
        ({"happened": " "}, ["happened"]),
        ({"done": ""}, ["done"]),
        ({"part": "story"}, ["part"]),
        ({"debrief_said": "It went well."}, ["debrief_by", "debrief_on"]),
        ({"debrief_on": "2026-05-11", "debrief_by": "R", "debrief_said": "x"}, ["debrief_on"]),
        ({"debrief_on": "2026-05-15", "debrief_by": "R", "debrief_said": "x"}, ["debrief_on"]),
    ],
)
def test_an_event_that_cannot_be_so_is_refused(north, changes, paths):
    assert refused(north.educator, north.family, "event", **event_body(north.mother, **changes)) == paths


def test_a_caregiver_of_another_family_handled_nothing_here(north):
    other = north.families[1].caregivers.first()

    assert refused(north.educator, north.family, "event", **event_body(north.mother, other)) == ["who"]


@pytest.mark.parametrize(
    ("on", "paths"), [("2026-05-11", ["on"]), ("2026-05-12", None), ("2026-05-14", None), ("2026-05-15", ["on"])]
)
def test_it_is_talked_through_between_its_day_and_today(north, on, paths):
    event = keep(north.educator, north.family, "event", **event_body(north.mother))
    body = {"part": "debrief", "record": str(event.intent), "on": on, "debrief_by": "R", "debrief_said": "Calm."}
    if paths:
        assert refused(north.educator, north.family, "event", **body) == paths
    else:
        assert keep(north.educator, north.family, "event", **body).data["on"] == on


def test_only_an_event_is_talked_through(north):
    shown = show(north, north.mother, "hands", TODAY)
    body = {"part": "debrief", "record": str(shown.intent), "on": "2026-05-14", "debrief_by": "R", "debrief_said": "x"}

    assert refused(north.educator, north.family, "event", **body) == ["record"]


# A comment


def test_a_caregiver_says_something_about_what_is_theirs(north):
    shown = show(north, north.mother, "hands", TODAY)
    made = keep(north.mother, north.family, "comment", **comment_body(north.mother, shown))

    assert (made.data["signed"]["name"], made.data["signed"]["meaning"]) == (
        north.mother.full_name,
        "These are my own words.",
    )


@pytest.mark.parametrize("who", ["educator", "supervisor", "administrator"])
def test_no_member_writes_a_caregivers_words(north, who):
    shown = show(north, north.mother, "hands", TODAY)
    body = comment_body(north.mother, shown)

    assert refused(getattr(north, who), north.family, "comment", **body) == ["caregiver"]


def test_no_caregiver_writes_anothers_words(north):
    shown = show(north, north.mother, "hands", TODAY)

    assert refused(north.father, north.family, "comment", **comment_body(north.mother, shown)) == ["caregiver"]


def test_nothing_is_said_about_anothers_record(north):
    shown = show(north, north.mother, "hands", TODAY)

    assert refused(north.father, north.family, "comment", **comment_body(north.father, shown)) == ["record"]


def test_nothing_is_said_about_a_record_of_another_family(north):
    other = north.families[1].caregivers.first()
    shown = show(north, other, "hands", TODAY)

    assert refused(north.mother, north.family, "comment", **comment_body(north.mother, shown)) == ["record"]


def test_nothing_is_said_without_words(north):
    shown = show(north, north.mother, "hands", TODAY)

    assert refused(north.mother, north.family, "comment", **comment_body(north.mother, shown, said=" ")) == ["said"]


def test_an_event_one_handled_can_be_spoken_of(north):
    event = keep(north.educator, north.family, "event", **event_body(north.mother))

    assert keep(north.mother, north.family, "comment", **comment_body(north.mother, event)).kind == "comment"


# An appointment


@pytest.mark.parametrize(
    ("changes", "paths"),
    [
        ({"day": "2026-05-14", "at": "08:00"}, None),
        ({"day": "2026-05-13"}, ["day"]),
        ({"day": "soon"}, ["day"]),
        ({"at": ""}, ["day"]),
        ({"minutes": None}, None),
        ({"minutes": 0}, ["minutes"]),
        ({"minutes": 1441}, ["minutes"]),
        ({"minutes": True}, ["minutes"]),
        ({"skills": []}, ["what"]),
        ({"skills": [], "what": "A talk"}, None),
        ({"skills": ["juggling"]}, ["skills"]),
        ({"caregiver": "nobody"}, ["caregiver"]),
        ({"who": ["nobody"]}, ["who"]),
        ({"checks": "nobody"}, ["checks"]),
        ({"interpreter": {"kind": "in_person", "language": "Somali"}}, None),
        ({"interpreter": {"kind": "in_person", "language": ""}}, ["language"]),
        ({"interpreter": {"kind": "shouting", "language": "Somali"}}, ["interpreter"]),
        ({"record": "x"}, ["record"]),
        ({"part": "moved"}, ["record"]),
        ({"part": "hoped"}, ["part"]),
    ],
)
def test_an_appointment_lies_ahead_and_names_those_it_concerns(north, changes, paths):
    body = appointment_body(north.mother, **changes)
    if paths:
        assert refused(north.educator, north.family, "appointment", **body) == paths
    else:
        assert keep(north.educator, north.family, "appointment", **body).kind == "appointment"


def test_a_member_of_another_house_checks_nothing_here(cast, north):
    body = appointment_body(north.mother, checks=cast.south.educator.observer_id)

    assert refused(north.educator, north.family, "appointment", **body) == ["checks"]


def plan(home, **changes):
    return keep(home.educator, home.family, "appointment", **appointment_body(home.mother, **changes))


def move(home, first, **changes):
    return plan(home, part="moved", record=str(first.intent), **changes)


def standing(home):
    """The coming appointments: their day and the number of the record that stands."""
    return [(str(a.day), a.stands.number) for a in coming(open_file(home.family).records, TODAY)]


def test_the_newest_record_of_an_appointment_stands(north):
    first = plan(north)
    later = move(north, first, day="2026-05-22")

    assert standing(north) == [("2026-05-22", later.number)]


def test_a_voided_change_leaves_what_stood_before(north):
    first = plan(north)
    later = move(north, first, day="2026-05-22")
    write(north.supervisor, north.family, "void", NOW, record=str(later.intent), reason="wrong")

    assert standing(north) == [("2026-05-21", first.number)]


def test_a_cancelled_one_is_not_coming(north):
    first = plan(north)
    keep(north.educator, north.family, "appointment", **off_body(first))

    assert standing(north) == []
    assert [a.is_cancelled for a in appointments_of(open_file(north.family).records)] == [True]


def test_a_voided_cancellation_takes_nothing_away(north):
    first = plan(north)
    off = keep(north.educator, north.family, "appointment", **off_body(first))
    write(north.supervisor, north.family, "void", NOW, record=str(off.intent), reason="wrong")

    assert standing(north) == [("2026-05-21", first.number)]


def test_a_voided_one_is_none(north):
    first = plan(north)
    write(north.supervisor, north.family, "void", NOW, record=str(first.intent), reason="wrong")

    assert appointments_of(open_file(north.family).records) == []
    assert refused(north.educator, north.family, "appointment", **off_body(first)) == ["record"]


def test_a_cancelled_one_is_neither_moved_nor_cancelled(north):
    first = plan(north)
    keep(north.educator, north.family, "appointment", **off_body(first))
    moved = appointment_body(north.mother, part="moved", record=str(first.intent))

    assert refused(north.educator, north.family, "appointment", **moved) == ["record"]
    assert refused(north.educator, north.family, "appointment", **off_body(first)) == ["record"]


def test_a_cancellation_says_why(north):
    assert refused(north.educator, north.family, "appointment", **off_body(plan(north), reason="")) == ["reason"]


def test_they_come_in_the_order_of_day_and_time(north):
    plan(north, day="2026-06-02")
    plan(north, day="2026-05-21", at="14:00")
    plan(north, day="2026-05-21", at="09:30")

    assert [f"{a.day} {a.body['at']}" for a in coming(open_file(north.family).records, TODAY)] == [
        "2026-05-21 09:30",
        "2026-05-21 14:00",
        "2026-06-02 10:00",
    ]


@pytest.mark.parametrize(("day", "count"), [(date(2026, 5, 21), 1), (date(2026, 5, 22), 0)])
def test_one_is_coming_through_its_own_day(north, day, count):
    plan(north)

    assert len(coming(open_file(north.family).records, day)) == count
