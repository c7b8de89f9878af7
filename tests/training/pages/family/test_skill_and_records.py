"""One skill of one caregiver, the list of records, one record."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from tests.cast import ALL_ALONE, TODAY, at, demonstration, plan, show, write
from tests.training.pages.family.conftest import of, put
from tests.training.pages.family.test_family_page import squeezed


@pytest.fixture
def skill(story, read):
    def get(who="father", code="suction", role="educator", on="", whole=False):
        person = getattr(story.north, who)
        text = read(getattr(story.north, role), of(person.family, "skill", caregiver=person.public_id, skill=code) + on)
        return text if whole else squeezed(text)

    return get


@pytest.fixture
def record(story, read):
    def get(made, role="educator", whole=False):
        text = read(getattr(story.north, role), of(story.north.family, "record", number=made.number))
        return text if whole else squeezed(text)

    return get


# A skill


def test_every_reason_is_said_with_whether_it_is_met(skill):
    text = skill("mother", "tube_change")

    assert "Not met Gate closed: Hand hygiene is not signed off." in text
    assert "Met Gate open: Suctioning." in text


def test_an_attempt_says_outcome_step_and_what_to_teach(skill):
    text = skill()

    assert "Critical" in text
    assert "Not alone: step 3, Suctions no longer than the limit." in text
    assert "Teach again: Count aloud." in text


def test_an_attempt_that_counted_says_so(skill):
    assert "Passed Counts. It completed the sign-off." in skill("mother")


def test_a_pass_through_a_closed_gate_says_why_it_does_not_count(story, skill):
    show(story.north, story.north.mother, "tube_change", TODAY)

    assert "Does not count toward a full sign-off: the gate was closed (Hand hygiene)." in skill(
        "mother", "tube_change"
    )


def test_practice_says_that_it_moves_nothing(story, skill):
    show(story.north, story.north.mother, "hands", TODAY, purpose="practice")

    assert "Practice: it moves nothing." in skill("mother", "hands")


def test_an_observer_who_was_not_qualified_is_told(story, skill):
    north = story.north
    body = demonstration(north.mother, "hands", TODAY, north.administrator)
    write(north.educator, north.family, "demonstration", at(TODAY), **body)

    assert "Shown as practice: the observer was not qualified" in skill("mother", "hands")


def test_an_attempt_ahead_of_the_date_is_not_shown(skill):
    assert "No demonstration yet. Two touches start one." in skill(on="?on=2026-04-01")


def test_the_spans_are_a_table(skill):
    assert "Signed off on this date 4 May 2026 4 November 2026" in skill("mother")


def test_a_demonstration_is_offered_to_who_records(skill):
    assert "/skills/suction/start/" in skill(whole=True)
    assert "/start/" not in skill(role="auditor", whole=True)


def test_a_card_is_entered_not_demonstrated(skill):
    text = skill(code="cpr_card", whole=True)

    assert "certificate-new/?caregiver=" in text
    assert "/start/" not in text


@pytest.mark.parametrize(("role", "offered"), [("educator", False), ("supervisor", True), ("auditor", False)])
def test_a_withdrawal_is_offered_to_who_decides(skill, role, offered):
    assert ("withdrawal-new" in skill("mother", role=role, whole=True)) is offered


def test_the_educators_signature_is_offered_while_awaited(story, skill):
    north = story.north
    assert "signature-new" not in skill("mother", "emergency", whole=True)
    show(north, north.mother, "emergency", TODAY)
    assert "signature-new" in skill("mother", "emergency", whole=True)
    put(north.educator, north.family, "signature", TODAY, caregiver=north.mother.case_id, skill="emergency",
        on=TODAY.isoformat(), by="educator")  # fmt: skip
    assert "signature-new" not in skill("mother", "emergency", whole=True)


def test_cautions_and_the_notice_stand_with_the_skill(skill):
    text = skill()

    assert "Depth and pressure are the prescriber&#x27;s order." in text
    assert "A sample to adapt." in text


# Records


def test_records_come_newest_first(story, read):
    text = read(story.north.educator, of(story.north.family, "records"))
    numbers = [int(n) for n in re.findall(r'records/(\d+)/">', text)]

    assert numbers == list(range(story.exception.number, 0, -1))


def test_fifty_records_make_a_page(story, read):
    north = story.north
    for place in range(50):
        write(north.educator, north.family, "item", at(TODAY, 6), item="kit", on=TODAY.isoformat(), note=f"n{place}")
    first = read(north.educator, of(north.family, "records"))
    second = read(north.educator, of(north.family, "records") + "?page=2")

    assert len(re.findall(r'records/(\d+)/">', first)) == 50
    assert "Page 2 of 2" in squeezed(second)
    assert not set(re.findall(r'records/(\d+)/">', first)) & set(re.findall(r'records/(\d+)/">', second))


@pytest.mark.parametrize("page", ["0", "-1", "x", "999", ""])
def test_any_page_number_is_answered(story, read, page):
    assert "newest first" in read(story.north.educator, of(story.north.family, "records") + f"?page={page}")


def test_a_late_entry_carries_both_dates(story, read):
    north = story.north
    body = demonstration(north.mother, "hands", TODAY - timedelta(days=4), north.educator)
    write(north.educator, north.family, "demonstration", at(TODAY), **body)

    assert "10 May 2026, 09:00 recorded 14 May 2026" in squeezed(read(north.educator, of(north.family, "records")))


def test_a_record_says_every_step(record, story):
    text = record(story.trouble)

    assert "1 Critical Washes hands Independent" in text
    assert "3 Critical Suctions no longer than the limit Measured: at most 10 s Outside the limit 14 s" in text


def test_a_critical_step_has_its_shape(record, story):
    assert 'class="r-double"' in record(story.trouble, whole=True)


def test_a_record_says_what_was_chosen(record, story):
    assert "Setting on the patient Role leading Seen in person Place in hospital" in record(story.trouble)


def test_a_record_names_its_observer(record, story):
    assert f"Observers, the lead first {story.north.educator.signed_name}" in record(story.trouble)


def test_a_record_says_who_signed_what_when_and_where(record, story):
    text = record(story.trouble)

    assert "“I watched this demonstration and recorded what I saw.”" in text
    assert f"Name {story.north.educator.signed_name} Role educator Date and time 11 May 2026, 14:00" in text
    assert "Time zone Europe/Oslo" in text


def test_a_record_shows_its_digest(record, story):
    assert story.trouble.digest in record(story.trouble)


def test_a_voided_record_says_so_with_reason_and_date(record, story):
    text = record(story.wrong)

    assert f"VOIDED On 13 May 2026 by {story.north.supervisor.signed_name}: Wrong person" in text
    assert "Counts." not in text


def test_a_void_names_what_it_voids(record, story):
    assert f"Record {story.wrong.number}: Demonstration, Hand hygiene, Joram Okonjo-Lind" in record(story.void)


@pytest.mark.parametrize(
    ("which", "role", "offered"),
    [
        ("trouble", "educator", True),  # their own
        ("trouble", "supervisor", True),
        ("trouble", "administrator", False),
        ("trouble", "auditor", False),
        ("wrong", "supervisor", False),  # voided already
        ("void", "supervisor", False),  # a void is never voided
        ("exception", "educator", False),  # somebody else's
    ],
)
def test_a_void_is_offered_where_it_applies(record, story, which, role, offered):
    assert ("void-new" in record(getattr(story, which), role, whole=True)) is offered


def test_an_override_is_offered_where_a_gate_kept_a_pass_out(record, story):
    made = show(story.north, story.north.mother, "tube_change", TODAY)

    assert "override-new" in record(made, "supervisor", whole=True)
    assert "override-new" not in record(made, "educator", whole=True)


def test_an_override_is_not_offered_for_what_counts_or_failed(record, story):
    made = show(story.north, story.north.mother, "hands", TODAY)

    assert "override-new" not in record(made, "supervisor", whole=True)
    assert "override-new" not in record(story.trouble, "supervisor", whole=True)


@pytest.fixture
def disputed(story):
    north = story.north
    second = {
        "observer": north.supervisor.observer_id,
        "results": {**ALL_ALONE["hands"], "s02": "omitted"},
    }
    return show(north, north.mother, "hands", TODAY, second=second)


def test_a_dispute_shows_both_and_offers_its_resolution(record, story, disputed):
    text = record(disputed, "supervisor")

    assert "Disputed" in text
    assert f"Seen by {story.north.supervisor.signed_name}" in text
    assert "Independent Omitted" in text
    assert "resolution-new" in record(disputed, "supervisor", whole=True)


def test_a_resolved_dispute_offers_none(record, story, disputed):
    put(story.north.supervisor, story.north.family, "resolution", TODAY, caregiver=story.north.mother.case_id,
        record=str(disputed.intent), take="lead")  # fmt: skip
    text = record(disputed, "supervisor", whole=True)

    assert "resolution-new" not in text
    assert "Later records about it" in text


def test_a_care_plan_entry_says_what_changed(story, record):
    made = plan(story.north, story.north.family, TODAY, {"suction": True, "cuff": "air", "tube_id_mm": 5})

    assert "Care plan entry: Cuff: No cuff to Filled with air" in record(made)


def test_an_unknown_key_is_shown_rather_than_hidden(story, record):
    made = write(
        story.north.educator, story.north.family, "item", at(TODAY, 6), item="kit", on=TODAY.isoformat(), weather="fog"
    )

    assert "weather fog" in record(made)


def test_what_a_signer_typed_is_not_read_as_markup(story, record):
    made = write(
        story.north.educator, story.north.family, "item", at(TODAY, 6), item="kit", on=TODAY.isoformat(),
        note="<img src=x> SpO2 <90 & falling",
    )  # fmt: skip

    assert "&lt;img src=x&gt; SpO2 &lt;90 &amp; falling" in record(made, whole=True)


def test_the_message_after_signing_stands_on_the_record(story, client, record):
    client.force_login(story.north.educator.user)
    page = client.get(of(story.north.family, "record", number=story.trouble.number)).content.decode()

    assert 'class="r-messages" role="status"' in page
