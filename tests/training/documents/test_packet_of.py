"""A family on one day as a packet: everything is there, in words, and nothing is judged again."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from tests.cast import NOW, TODAY
from tests.training.pages.family.conftest import put, story  # noqa: F401 - a fixture
from training.documents.packet_of import packet_of
from training.records.appending import head_of
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def made(family, day=TODAY):
    return packet_of(
        FamilyOn(open_file(family), day),
        known_at=NOW,
        standing_word=lambda standing, pause: f"<{standing}{' on pause' if pause else ''}>",
        verdict_word=lambda verdict: f"<{verdict}>",
        outcome_word=lambda outcome: f"<{outcome}>",
    )


@pytest.fixture
def packet(story):  # noqa: F811
    return made(story.north.family)


def test_it_names_the_patient_and_the_day(packet):
    assert (packet.patient, packet.called, packet.born) == ("Ilse Okonjo-Lind", "Ilse", date(2023, 2, 1))
    assert (packet.as_of, packet.zone) == (TODAY, "Europe/Oslo")


def test_it_is_known_at_the_familys_clock(packet):
    assert packet.known_at.isoformat() == "2026-05-14T10:00:00+02:00"


def test_the_verdict_comes_with_its_lines(packet):
    assert (packet.verdict, packet.verdict_word) == ("not_ready", "<not_ready>")
    assert packet.verdict_lines == (
        "<not_ready> since 2 March 2026.",
        "3 things are missing, 1 covered by an exception.",
    )


def test_an_exception_is_whole(packet, story):  # noqa: F811
    (line,) = packet.exceptions

    assert (line.covers, line.reason, line.last_day) == ("Papers", "Sent by post", TODAY + timedelta(days=5))
    assert line.by == f"{story.north.supervisor.signed_name}, supervisor"


def test_what_is_missing_says_why(packet):
    assert [m.title for m in packet.missing] == ["Team", "Emergency kit checked", "Papers"]
    assert packet.missing[2].lines == ("Not done yet.", "Covered by an exception.")


def test_the_care_plan_states_every_fact(packet):
    assert packet.care_plan_since == date(2026, 3, 2)
    assert [(f.title, f.value) for f in packet.care_plan] == [
        ("Cuff", "No cuff"),
        ("Tube, inner diameter", "5 mm"),
        ("Suction prescribed", "yes"),
    ]


def skill(packet, who, title):
    return next(s for b in packet.caregivers if b.name.startswith(who) for s in b.skills if s.title == title)


def test_a_sign_off_has_its_last_day(packet):
    line = skill(packet, "Marit", "Suctioning")

    assert (line.standing, line.word, line.last_day) == ("signed_off", "<signed_off>", date(2026, 11, 4))


def test_a_sign_off_is_not_explained_at_length(packet):
    assert skill(packet, "Marit", "Suctioning").reasons == ("Signed off since 4 May 2026, through 4 November 2026.",)


def test_what_is_not_signed_off_is_explained(packet):
    assert "Gate closed: Hand hygiene is not signed off." in skill(packet, "Marit", "Tube change").reasons


def test_sets_say_whether_they_are_held(packet):
    assert packet.caregivers[0].sets == ("Full care: not held",)


def test_items_say_their_state(packet):
    assert [(i.title, i.state, i.done_on) for i in packet.items] == [
        ("Emergency kit checked", "Not done yet.", None),
        ("Papers", "Not done yet.", None),
    ]


def test_authorisations_in_force_are_named(packet):
    assert [(a.skill, a.prescriber) for a in packet.authorisations] == [
        ("Suctioning", "Dr A. Prescriber"),
        ("Tube change", "Dr A. Prescriber"),
    ]


def test_every_record_is_signed_in_order(packet, story):  # noqa: F811
    assert [s.number for s in packet.signatures] == list(range(1, story.exception.number + 1))


def test_an_attempt_says_its_outcome(packet, story):  # noqa: F811
    line = packet.signatures[story.trouble.number - 1]

    assert line.what == "Suctioning, Joram Okonjo-Lind. <critical>."


def test_a_pass_says_what_followed(packet):
    assert packet.signatures[7].what == "Suctioning, Marit Okonjo-Lind. <passed>. Counts. It completed the sign-off."


def test_a_voided_record_is_marked(packet, story):  # noqa: F811
    line = packet.signatures[story.wrong.number - 1]

    assert (line.voided_on, line.note) == (TODAY - timedelta(days=1), "Wrong person")


def test_a_late_record_says_when_it_was_written(cast):
    north = cast.north
    put(north.educator, north.family, "item", TODAY, item="kit", on="2026-05-01")

    assert made(north.family).signatures[-1].note == "Of 1 May 2026, recorded 14 May 2026."


def test_a_past_day_leaves_out_what_came_later(story):  # noqa: F811
    packet = made(story.north.family, date(2026, 5, 3))

    assert max(s.on for s in packet.signatures) <= date(2026, 5, 3)
    assert skill(packet, "Marit", "Suctioning").standing == "in_training"


def test_the_chains_head_is_printed(packet, story):  # noqa: F811
    assert (packet.chain_length, packet.chain_head) == head_of(story.north.family.public_id)


def test_cautions_come_from_the_skills(packet):
    assert "Suctioning: Depth and pressure are the prescriber's order." in packet.cautions


def test_the_sample_notice_is_the_programmes(packet):
    assert packet.notice.startswith("A sample to adapt.")


def test_before_the_care_plan_nothing_is_claimed(cast):
    packet = made(cast.north.family, date(2026, 3, 1))

    assert (packet.verdict, packet.care_plan_since, packet.missing) == (None, None, ())
    assert {s.standing for b in packet.caregivers for s in b.skills} == {None}
