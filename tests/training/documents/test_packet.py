"""Everything a packet holds is printed, in words, the verdict and its exceptions first."""

from dataclasses import replace
from datetime import UTC, date, datetime

import pytest

from training.documents.packet import LETTER, BadPacket, CaregiverBlock, SkillLine, day, grouped, instant, render_packet

BARE = {
    "called": "",
    "born": None,
    "verdict": None,
    "verdict_word": "",
    "verdict_lines": (),
    "exceptions": (),
    "missing": (),
    "care_plan_since": None,
    "care_plan": (),
    "caregivers": (),
    "team": (),
    "items": (),
    "authorisations": (),
    "signatures": (),
    "cautions": (),
    "notice": " ",
    "chain_head": "",
    "chain_length": 0,
}


@pytest.mark.parametrize(
    "words",
    [
        "Tallowmere Children’s Hospital, homecoming programme",
        "Discharge-readiness packet",
        "Ilse Lind Ilse 2 March 2023 231",
        "As of 12 June 2026",
        "from records through 12 June 2026, 15:20 (Europe/Dublin)",
        "Ready by exception",
        "This family meets the programme’s rules on this date, with the exceptions named below.",
        "The clinical team decides discharge.",
        "Holds through 18 June 2026.",
        "Item: home equipment trial, not done",
        "Ruta Emberley, supervisor",
        "Delivery on 15 June.",
        "19 June 2026",
        "Not done. Covered by an exception.",
        "In force since 8 May 2026.",
        "Tube size 5.0",
        "Humidity not stated",
        "Relation: mother. In the family from 5 January 2026, no last day. Sets: full: held.",
        "Relation: father. In the family, first day not stated, no last day. Sets: none.",
        "Suction signed off 14 November 2026 3 of 3.",
        "Whole tube change held none Tube size changed 8 May 2026.",
        "24-hour stay no care plan none not asked of this person",
        "Two people holding full, 18 or over.",
        "Go-bag check done 10 June 2026 Pell Sandoval 10 July 2026",
        "Home equipment trial not done not done nobody not done",
        "Suction Dr Anneke Vail 1 May 2026 no last day",
        "In an emergency call for help and do what you were taught.",
        "Checklists are samples to adapt; the packet defers to the prescriber",
        "Records in the file: 231.",
        "7c1e0b44 91d25aa0 01234567 89abcdef 01234567 89abcdef 01234567 89abcdef",
    ],
)
def test_the_packet_says(read, packet, words):
    assert read(render_packet(packet)).holds(words)


@pytest.mark.parametrize(
    ("verdict", "word", "sentence"),
    [
        ("ready", "Ready", "This family meets the programme’s rules on this date."),
        (
            "ready_by_exception",
            "Ready by exception",
            "This family meets the programme’s rules on this date, with the exceptions named below.",
        ),
        ("not_ready", "Not ready", "This family does not yet meet the programme’s rules on this date."),
        (None, "", "The programme’s rules give no verdict on this date."),
    ],
)
def test_each_verdict_has_its_sentence_and_leaves_the_decision(read, packet, verdict, word, sentence):
    printed = read(render_packet(replace(packet, verdict=verdict, verdict_word=word)))

    assert printed.holds(f"{word or 'No verdict'} {sentence} The clinical team decides discharge.")


def test_verdict_and_exceptions_stand_before_all_else(read, packet):
    first = " ".join(read(render_packet(packet)).pages[0].split())
    order = ["Ready by exception", "The clinical team", "Exception for", "What is missing", "Care plan"]

    assert [first.index(words) for words in order] == sorted(first.index(words) for words in order)


def test_what_is_missing_is_said_in_words(read, packet):
    words = read(render_packet(replace(packet, **BARE))).words

    for said in (
        "Ilse Lind not stated not stated 0",
        "No verdict",
        "Exceptions: none.",
        "Nothing is missing.",
        "No care plan is known. No fact is stated.",
        "Team rule and sets None.",
        "Caregivers and skills None.",
        "papers None.",
        "Authorisations None.",
        "Who signed None.",
        "Cautions None. No notice is stated.",
        "Records in the file: 0. The digest of the newest one, to be compared by eye: none",
    ):
        assert said in words


def test_blank_lines_of_a_table_are_said_in_words(read, packet, signed):
    line = signed(7, what=" ", name="\u200b", role="", kind="")
    assert read(render_packet(replace(packet, signatures=(line,)))).holds("not stated not stated not stated")


def test_a_caregiver_without_skills_is_still_named(read, packet):
    block = CaregiverBlock(name="Tove Lind", relation="")
    assert read(render_packet(replace(packet, caregivers=(block,)))).holds(
        "Tove Lind Relation: not stated. In the family, first day not stated, no last day. Sets: none. "
        "No skill is listed."
    )


def test_a_voided_record_is_marked_with_its_day_and_reason(read, packet):
    printed = read(render_packet(replace(packet, origins=())))

    assert printed.holds("Suction, attempt 181 Voided 15 May 2026: entered for the wrong person")
    assert printed.words.count("Voided") == 1


def test_a_record_nobody_signed_says_so(read, packet):
    assert read(render_packet(packet)).holds("late entry Ruta Emberley discharge educator not signed")


def test_seven_caregivers_stand_in_two_tables(read, packet):
    skills = (SkillLine(title="Suction", standing="signed_off", word="signed off"),)
    blocks = tuple(CaregiverBlock(name=f"Person {n}", relation="friend", skills=skills) for n in range(7))
    printed = read(render_packet(replace(packet, caregivers=blocks)))

    assert printed.holds("Skill Person 0 Person 1 Person 2 Person 3 Person 4 Person 5 Suction")
    assert printed.holds("Skill Person 6 Suction")


@pytest.mark.parametrize(
    "said",
    [
        "Tallowmere Children’s Hospital, homecoming programme. Ilse Lind",
        "Discharge-readiness packet as of 12 June 2026. Check code 7c1e0b44 91d25aa0",
    ],
)
def test_the_foot_of_every_page(read, packet, signed, said):
    pages = read(render_packet(replace(packet, signatures=tuple(signed(n) for n in range(60))))).pages

    assert len(pages) > 3
    assert [page for page in pages if said not in page] == []


def test_pages_are_numbered(read, packet):
    pages = read(render_packet(packet)).pages

    assert [f"page {n} of {len(pages)}" in page for n, page in enumerate(pages, 1)] == [True] * len(pages)


def test_the_head_of_every_later_page_says_organisation_and_when(read, packet):
    later = read(render_packet(packet)).pages[1:]

    assert later
    for page in later:
        assert "as of 12 June 2026, from records through 12 June 2026, 15:20 (Europe/Dublin)" in page


def test_the_same_packet_gives_the_same_bytes(packet):
    assert render_packet(packet) == render_packet(replace(packet))


def test_another_packet_gives_other_bytes(packet):
    assert render_packet(packet) != render_packet(replace(packet, called="Ilsebill"))


def test_letter_paper(read, packet):
    box = read(render_packet(packet, LETTER)).reader.pages[0].mediabox
    assert (box.width, box.height) == (612, 792)


def test_the_properties_hold_the_moment_it_was_known_not_the_clock(read, packet):
    assert read(render_packet(packet)).reader.metadata["/CreationDate"] == "D:20260612152000+01'00'"


@pytest.mark.parametrize(
    ("fields", "problem"),
    [
        ({"verdict": "fine"}, "no such verdict: fine"),
        ({"exceptions": ()}, "ready by exception, but no exception is named"),
        ({"known_at": datetime(2026, 6, 12, 15, 20)}, "known_at has no time zone"),
    ],
)
def test_a_contradictory_packet_cannot_be_built(packet, fields, problem):
    with pytest.raises(BadPacket) as refused:
        replace(packet, **fields)

    assert refused.value.problems == (problem,)


def test_every_problem_is_named(packet, signed):
    block = CaregiverBlock(
        name="A", relation="B", skills=(SkillLine(title="Suction", standing="sleeping", word="sleeping"),)
    )
    with pytest.raises(BadPacket) as refused:
        replace(packet, caregivers=(block,), signatures=(signed(9, signed_at=datetime(2026, 6, 12)),), exceptions=())

    assert refused.value.problems == (
        "ready by exception, but no exception is named",
        "record 9: signed_at has no time zone",
        "no such standing: sleeping",
    )


def test_days_moments_and_digests_are_written_one_way():
    assert day(date(2026, 5, 4)) == "4 May 2026"
    assert day(date(2026, 9, 30), short=True) == "30 Sep 2026"
    assert instant(datetime(2026, 5, 14, 9, 5, tzinfo=UTC)) == "14 May 2026, 09:05 (UTC)"
    assert grouped("0123456789abcdef01") == "01234567 89abcdef 01"
    assert grouped("") == "none"
