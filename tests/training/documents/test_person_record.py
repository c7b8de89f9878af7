"""One caregiver's record: every attempt, the voided ones too, and nothing of anybody else."""

from __future__ import annotations

from datetime import timedelta

import page
import pytest

from tests.cast import NOW, TODAY, show
from tests.training.documents.test_emergency_sheet import SEAL
from tests.training.pages.family.conftest import of, put, story  # noqa: F401 - a fixture
from training.documents.person_record import A4, LETTER, render_person_record
from training.documents.person_record_of import person_record_of
from training.issuing.basis import Basis
from training.pages.templatetags.register import outcome_word, standing_word
from training.standing.file import open_file
from training.standing.questions import FamilyOn


def made(caregiver, day=TODAY):
    file = open_file(caregiver.family)
    newest = Basis(file, "caregiver_record", caregiver).family
    return person_record_of(
        FamilyOn(file, day),
        caregiver,
        known_at=NOW,
        newest=(newest.number, newest.digest),
        standing_word=standing_word,
        outcome_word=outcome_word,
    )


@pytest.fixture
def record(story):  # noqa: F811
    return made(story.north.father)


def test_every_attempt_is_on_it_with_what_became_of_it(record, story):  # noqa: F811
    critical, voided = record.attempts

    assert (critical.number, critical.skill, critical.edition, critical.outcome) == (
        story.trouble.number, "Suctioning", 1, "Critical",
    )  # fmt: skip
    assert critical.watched == (story.north.educator.signed_name,)
    assert critical.setting.startswith("on the patient, leading")
    assert (voided.number, voided.outcome, voided.voided_why) == (story.wrong.number, "", "Wrong person")


def test_a_void_is_marked_and_among_the_corrections(record, story, read):  # noqa: F811
    words = read(render_person_record(record)).words

    assert [line.number for line in record.origins if line.how == "Voided"] == [story.wrong.number]
    assert "Voided 13 May 2026: Wrong person" in words


def test_nobody_elses_attempts_are_on_it(record, story, read):  # noqa: F811
    words = read(render_person_record(record)).words

    assert story.north.mother.full_name not in words
    assert [block.name for block in record.bands] == [story.north.father.full_name]


def test_where_they_stand_with_last_days(story, read):  # noqa: F811
    record = made(story.north.mother)
    found = {skill.title: (skill.standing, skill.last_day) for skill in record.block.skills}

    assert found["Suctioning"][0] == "signed_off"
    assert found["Suctioning"][1] > TODAY


def test_cards_and_other_records(story):  # noqa: F811
    north = story.north
    whom = {"caregiver": north.father.case_id, "on": TODAY.isoformat()}
    put(north.educator, north.family, "certificate", TODAY, **whom, skill="cpr_card",
        through=(TODAY + timedelta(days=90)).isoformat())  # fmt: skip
    put(north.supervisor, north.family, "hold", TODAY, **whom, skill=None, through=None, reason="Away")
    record = made(north.father)

    assert [(card.what, card.last_day) for card in record.cards] == [("Card", TODAY + timedelta(days=90))]
    assert [line.kind for line in record.others] == ["Hold"]


def test_its_chain_head_is_of_the_newest_record_that_bears_on_them(record, story):  # noqa: F811
    show(story.north, story.north.mother, "hands", TODAY)
    after = made(story.north.father)

    assert (after.newest, after.chain_head) == (record.newest, record.chain_head)
    assert record.newest == story.void.number


@pytest.mark.parametrize("size", [A4, LETTER])
def test_it_passes_the_checker(record, size):
    data = render_person_record(record, size, SEAL)

    assert page.validate_pdf_bytes(data, profile="ua1").failures == []
    assert data == render_person_record(record, size, SEAL)


def test_its_address_gives_the_same_file_after_somebody_elses_record(story, signed_in):  # noqa: F811
    north = story.north
    address = of(north.family, "caregiver-record", caregiver=north.father.public_id)
    first = signed_in(north.auditor).get(address)
    data = b"".join(first.streaming_content)
    show(north, north.mother, "hands", TODAY)

    assert first["Content-Disposition"].startswith('attachment; filename="caregiver-record 2026-05-14 ')
    assert data[:5] == b"%PDF-"
    assert b"".join(signed_in(north.educator).get(address).streaming_content) == data


def test_somebody_of_another_family_is_not_found_there(story, signed_in):  # noqa: F811
    north = story.north
    other = north.families[1].caregivers.first()

    assert (
        signed_in(north.educator).get(of(north.family, "caregiver-record", caregiver=other.public_id)).status_code
        == 404
    )
