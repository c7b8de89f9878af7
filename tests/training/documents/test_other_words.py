"""What a record outside the rules says in a list, on its page and in the packet; what came from paper; both dates."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from tests.cast import NOW, TODAY, at, demonstration, plan, show, write
from tests.training.documents.test_packet_of import made as packet_of_family
from tests.training.kept import (
    appointment_body,
    comment_body,
    duty_body,
    end_body,
    event_body,
    keep,
    off_body,
    start_body,
    stepped_in_body,
)
from training.documents.other_words import duration
from training.documents.record_labels import KINDS, LABELS
from training.documents.record_words import RecordWords
from training.standing.file import OTHER_KINDS, open_file
from training.standing.questions import FamilyOn

PAPER = {"saw": "Ruta Emberley, RN", "saw_id": "", "typed": "Pell Sandoval, RN", "from": "K7-204"}


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def words(north):
    """The words of the file as it stands when they are asked for."""
    return lambda: RecordWords(FamilyOn(open_file(north.family), TODAY))


@pytest.fixture
def line(north):
    """One record in the packet's list of records."""
    return lambda record: packet_of_family(north.family).signatures[record.number - 1]


@pytest.fixture
def page(north, signed_in):
    """A page of the family as text."""

    def get(address):
        text = signed_in(north.auditor).get(f"/families/{north.family.public_id}/{address}").content.decode()
        return re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", text))

    return get


def keep_one_of_each(home):
    educator, family, mother = home.educator, home.family, home.mother
    start = keep(educator, family, "stay", **start_body())
    first = keep(educator, family, "appointment", **appointment_body(mother))
    moved = appointment_body(mother, part="moved", record=str(first.intent), skills=["suction"], what="and a talk")
    event = keep(educator, family, "event", **event_body(mother, home.father))
    debrief = {
        "part": "debrief",
        "record": str(event.intent),
        "on": "2026-05-14",
        "debrief_by": "R",
        "debrief_said": "x",
    }
    return {
        "event": event,
        "debrief": keep(educator, family, "event", **debrief),
        "start": start,
        "duty": keep(educator, family, "stay", **duty_body(start, [mother], ("2026-05-12", "09:00"), ("2026-05-12", "21:00"))),
        "intervention": keep(educator, family, "stay", **stepped_in_body(start)),
        "end": keep(educator, family, "stay", **end_body(start)),
        "planned": first,
        "moved": keep(educator, family, "appointment", **moved),
        "cancelled": keep(educator, family, "appointment", **off_body(first)),
    }  # fmt: skip


def test_each_says_what_it_is_in_one_line(north, words):
    made = keep_one_of_each(north)
    mother, father = north.mother.full_name, north.father.full_name
    event, first = made["event"].number, made["planned"].number

    assert {name: words().what(record) for name, record in made.items()} == {
        "event": f"Handled by {mother}, {father}; it counts for nothing",
        "debrief": f"Talked through. Record {event}: Emergency at home, Handled by {mother}, {father}; it counts for nothing",
        "start": "Start: Ward 3",
        "duty": f"On duty until 12 May 2026, 21:00: {mother}",
        "intervention": "Staff stepped in: The oxygen fell. (A nurse)",
        "end": "End",
        "planned": f"Tube change, 21 May 2026, 10:00, {mother}’s turn",
        "moved": f"Moved: Suctioning, and a talk, 21 May 2026, 10:00, {mother}’s turn",
        "cancelled": f"Cancelled. Record {first}: Appointment, Tube change, 21 May 2026, 10:00, {mother}’s turn",
    }


def test_every_key_they_have_is_named_in_words(north, words):
    made = [*keep_one_of_each(north).values(), keep(north.mother, north.family, "comment", **comment_body(
        north.mother, show(north, north.mother, "hands", TODAY)))]  # fmt: skip
    keys = {key for record in made for key in record.data} - {"signed"}

    assert sorted(keys - LABELS.keys()) == []


def test_every_kind_is_named_in_words():
    assert sorted(OTHER_KINDS - KINDS.keys()) == []


def test_an_appointment_says_everything(north, words):
    spoken = {"kind": "video", "language": "Somali"}
    body = appointment_body(north.mother, interpreter=spoken, checks=north.educator.observer_id, minutes=90)
    said = dict(words().lines(keep(north.educator, north.family, "appointment", **body)))

    assert {
        k: said[k] for k in ("What this is", "Planned for", "Planned at", "Length", "Interpreter", "Who checks")
    } == {
        "What this is": "planned",
        "Planned for": "21 May 2026",
        "Planned at": "10:00",
        "Length": "1 hour 30 minutes",
        "Interpreter": "by video, Somali",
        "Who checks": north.educator.signed_name,
    }


def test_what_a_demonstration_holds_besides_is_said_in_words(north, words):
    more = {
        "stop": {"by": "caregiver", "why": "felt faint"},
        "teach_back": "Said why the cuff comes first.",
        "interpreter": {"kind": "family_member", "language": ""},
        "feels": "not_yet",
    }
    said = dict(words().lines(show(north, north.mother, "hands", TODAY, **more)))

    assert said["Who stopped it, and why"] == "the caregiver: felt faint"
    assert said["Taught back"] == "Said why the cuff comes first."
    assert (said["Interpreter"], said["The caregiver feels"]) == ("somebody of the family", "“not yet”")


def test_an_event_is_told_in_the_order_it_happened(north, words):
    event = keep(north.educator, north.family, "event", **event_body(north.mother))

    assert [label for label, _ in words().lines(event)] == [
        "On",
        "At",
        "What this is",
        "Caregivers",
        "What happened",
        "What was done",
        "Thanked",
    ]


@pytest.mark.parametrize(
    ("minutes", "words_"),
    [(0, "0 minutes"), (1, "1 minute"), (60, "1 hour"), (61, "1 hour 1 minute"), (1440, "24 hours")],
)
def test_a_length_is_in_hours_and_minutes(minutes, words_):
    assert duration(timedelta(minutes=minutes)) == words_


# In the packet


def test_the_packet_lists_each_of_them(north, line):
    made = keep_one_of_each(north)

    assert {name: line(record).kind for name, record in made.items()} == {
        **dict.fromkeys(("event", "debrief"), "Emergency at home"),
        **dict.fromkeys(("start", "duty", "intervention", "end"), "24-hour stay"),
        **dict.fromkeys(("planned", "moved", "cancelled"), "Appointment"),
    }


def test_the_packet_says_whose_words_they_are(north, line):
    shown = show(north, north.mother, "hands", TODAY)
    made = keep(north.mother, north.family, "comment", **comment_body(north.mother, shown))

    assert (line(made).kind, line(made).name, line(made).role) == (
        "A caregiver’s own words",
        north.mother.full_name,
        "mother",
    )
    assert line(made).what.endswith("Hand hygiene, Marit Okonjo-Lind. “I was tired that day.”")
    assert f"The caregiver’s own words on this: record {made.number}." in line(shown).what


def test_the_packet_marks_a_voided_one(north, line):
    made = keep_one_of_each(north)
    for record in made.values():
        write(north.supervisor, north.family, "void", NOW, record=str(record.intent), reason="Another family")

    assert {(line(r).voided_on, line(r).note) for r in made.values()} == {(TODAY, "Another family")}


# Both dates


def late(home, **changes):
    body = demonstration(home.mother, "hands", TODAY - timedelta(days=4), home.educator, **changes)
    return write(home.educator, home.family, "demonstration", at(TODAY), **body)


def test_a_late_demonstration_says_both_dates_everywhere(north, words, line, page):
    made = late(north)
    said = "Seen 10 May 2026, recorded 14 May 2026."

    assert (words().entry(made).late_words, line(made).note) == (said, said)
    assert said in page(f"records/{made.number}/")
    assert "10 May 2026, 09:00 recorded 14 May 2026" in page("records/")


def test_a_voided_late_one_says_both_dates_still(north, line):
    made = late(north)
    write(north.supervisor, north.family, "void", NOW, record=str(made.intent), reason="wrong")

    assert "Seen 10 May 2026, recorded 14 May 2026." in line(made).what


def test_what_was_recorded_on_its_day_says_nothing_of_it(north, words):
    assert words().entry(show(north, north.mother, "hands", TODAY)).late_words == ""


def test_the_day_is_the_patient_s(north, words):
    """Half past ten in the evening, UTC, is the next day in Oslo."""
    body = demonstration(north.mother, "hands", TODAY, north.educator)
    made = write(north.educator, north.family, "demonstration", at(TODAY, 22), **body)

    assert words().entry(made).late_words == "Seen 14 May 2026, recorded 15 May 2026."


@pytest.mark.parametrize(
    ("which", "said"),
    [
        ("event", "Happened 12 May 2026, recorded 14 May 2026."),
        ("intervention", "Happened 12 May 2026, recorded 14 May 2026."),
        ("planned", ""),
    ],
)
def test_a_late_entry_says_what_its_day_was(north, words, which, said):
    assert words().entry(keep_one_of_each(north)[which]).late_words == said


# From paper


def test_what_came_from_paper_names_both_people_everywhere(north, words, line, page):
    made = show(north, north.mother, "hands", TODAY, transcribed=PAPER)
    said = "Seen by Ruta Emberley, RN; typed from paper by Pell Sandoval, RN."
    skill = f"people/{north.mother.public_id}/skills/hands/"

    assert said in words().entry(made).also
    assert said in line(made).what
    assert [said in page(address) for address in ("", "records/", f"records/{made.number}/", skill)] == [True] * 4


def test_its_page_names_the_paper(north, words):
    made = show(north, north.mother, "hands", TODAY, transcribed=PAPER)

    assert dict(words().lines(made))["From paper"].endswith("Document K7-204.")


# The care plan --------------------------------------------------------------------------------------------


def test_each_entry_of_the_care_plan_is_told_against_the_one_before_it_that_was_not_voided(north, words):
    sizes = enumerate((4, 3, 6, 6))
    size = [
        plan(north, north.family, TODAY - timedelta(days=4 - n), {"suction": True, "cuff": "none", "tube_id_mm": mm})
        for n, mm in sizes
    ]
    write(north.educator, north.family, "void", NOW, record=str(size[1].intent), reason="The wrong patient.")
    told = words()

    assert [told.what(told.by_intent[str(record.intent)]) for record in size] == [
        "Tube, inner diameter: 5 mm to 4 mm",
        "Tube, inner diameter: 4 mm to 3 mm",
        "Tube, inner diameter: 4 mm to 6 mm",
        "nothing changed",
    ]


def test_the_first_entry_says_so(words):
    told = words()
    first = next(record for record in told.picture.records if record.kind == "care_plan")

    assert told.what(first) == "first entry"
