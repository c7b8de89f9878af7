"""Whole accounts of ``--explain``, word for word: one with a record of every kind, one without a plan, one of a card."""

from __future__ import annotations

import pytest

from competency.explain import UnknownNameError, explain
from competency.reading import read_case
from tests.competency.build import data, edition, failed, other, plan, shown, skill, standard


def told(*records, **changes):
    return explain(read_case(data(*records, **changes)), "ana", "s")


def word(id_, skill_, first, through=None):
    return {"id": id_, "skill": skill_, "from": first, "through": through, "recorded_at": f"{first}T08:00:00Z"}


def aside(kind, id_, record, day, **fields):
    return {"kind": kind, "id": id_, "record": record, "recorded_at": f"{day}T08:00:00Z"} | fields


ASKED = standard(
    needs=[{"passes": 2}],
    renewal=[{"passes": 1}],
    valid_for="P1M",
    grace="P10D",
    signatures=["caregiver", "educator"],
)
FIRST = edition(needs_authorisation=True, requires=[{"skill": "t"}], on_change={"cuff": "recheck"}, standard=ASKED)
SKILLS = [skill("s", FIRST, edition(2, in_force_from="2025-04-01")), skill("t")]
RECORDS = [
    shown("2025-01-05", code="t"),
    shown("2025-01-03", id="early", purpose="practice", mode="remote", place="school", setting="model", role="assist", observers=["rn1", "rn2"]),
    shown("2025-01-04", at="08:05", id="gated"),
    aside("override", "o1", "gated", "2025-01-06", reason="clinically sound"),
    shown("2025-01-10", id="second", second={"observer": "rn2", "results": {"a": "omitted"}}, began="2025-01-09"),
    aside("resolution", "r1", "second", "2025-01-11", take="lead"),
    other("signature", "2025-01-12", by="caregiver", id="sc", time="09:30"),
    other("signature", "2025-01-13", by="educator", id="se"),
    other("hold", "2025-01-15", through="2025-01-16", reason="ill", id="h1"),
    other("hold", "2025-01-17", through="2025-01-17", skill=None, id="h2"),
    failed("2025-01-20", id="crit"),
    shown("2025-01-21", id="again"),
    other("recheck", "2025-01-25", reason="an incident at home", id="rc"),
    other("withdrawal", "2025-02-28", reason="unsafe", cover="a nurse", id="w"),
    other("accepted", "2025-03-02", last_day="2025-05-01", organisation="North", id="acc"),
    shown("2025-01-22", id="voided"),
    shown("2025-01-23", id="late", recorded_at="2025-06-30T08:00:00Z"),
]  # fmt: skip
EVERY_KIND = {
    "skills": SKILLS,
    "authorisations": [
        word("a1", "s", "2025-01-02", "2025-02-20"),
        word("a2", "s", "2025-02-22"),
        word("a3", "t", "2025-02-22"),
    ],
    "care_plan": [plan(), plan("2025-02-10", {"cuff": "air", "tube_id_mm": 5.5}, time="12:00")],
    "voids": [{"id": "v", "record": "voided", "reason": "typed twice", "recorded_at": "2025-01-24T08:00:00Z"}],
    "known_at": "2025-06-01T00:00:00Z",
    "on": "2025-03-05",
}
CARD = [skill("s", edition(standard={"evidence": "certificate"}, steps=[]))]

WITH_EVERY_KIND = """\
ana: s, on 5 March 2025, as known at 2025-06-01T00:00:00Z

Through time
     1 January 2025 - 2 January 2025     not started
     3 January 2025 - 9 January 2025     in training
    10 January 2025 - 12 January 2025    awaiting
    13 January 2025 - 14 January 2025    signed off
    15 January 2025 - 17 January 2025    held
    18 January 2025 - 19 January 2025    signed off
    20 January 2025 - 20 January 2025    held
    21 January 2025 - 24 January 2025    signed off
    25 January 2025 - 21 February 2025   held
   22 February 2025 - 27 February 2025   lapsed
   28 February 2025 - 1 March 2025       withdrawn
       2 March 2025 - 2 April 2025       signed off
       3 April 2025 - on                 lapsed

What happened
  1 January 2025
           edition 1 of the checklist comes into force
           p-2025-01-01: the care plan begins: cuff none, suction true, tube_id_mm 5
    then:  not started
           - 0 of 2 passes.
           - Gate closed: t is not signed off.
           - No authorisation of the prescriber is in force.
  2 January 2025
           a1: the prescriber authorises it, through 20 February 2025
    then:  not started
           - 0 of 2 passes.
           - Gate closed: t is not signed off.
           + The prescriber has authorised it.
  3 January 2025
    10:00  early: practice (model, assist, remote, school), edition 1, watched by rn1 and rn2
             Outcome: passed.
             3 January 2025: practice, counts for nothing.
    then:  in training
           - 0 of 2 passes.
           - Gate closed: t is not signed off.
           + The prescriber has authorised it.
  4 January 2025
    08:05  gated: assessment (patient, lead, in person, hospital), edition 1, watched by rn1
             o1: let count by a supervisor on 6 January 2025: clinically sound
             4 January 2025: passed, counts.
    then:  in training
           - 1 of 2 passes. 1 more.
           - Gate closed: t is not signed off.
           + The prescriber has authorised it.
  10 January 2025
    10:00  second: assessment (patient, lead, in person, hospital), edition 1, watched by rn1, begun
           on 9 January 2025
             r1: resolved on 11 January 2025: the lead observer's outcome stands
             10 January 2025: passed, counts.
             It completed what is to be shown; signatures are awaited.
    then:  awaiting
           - Awaiting the caregiver’s own signature; shown 10 January 2025.
           - Awaiting the educator’s signature; shown 10 January 2025.
           + The prescriber has authorised it.
  12 January 2025
    09:30  sc: the caregiver signs
    then:  awaiting
           + The caregiver has signed.
           - Awaiting the educator’s signature; shown 10 January 2025.
           + The prescriber has authorised it.
  13 January 2025
           se: the educator signs
    then:  signed off
           + Signed off since 13 January 2025, through 10 February 2025.
           + The prescriber has authorised it.
           + t is signed off, as this needs.
  15 January 2025
           h1: on hold through 16 January 2025: ill
    then:  held
           + Signed off since 13 January 2025, through 10 February 2025.
           + The prescriber has authorised it.
           - On hold from 15 January 2025 through 16 January 2025.
           + t is signed off, as this needs.
  17 January 2025
           h2: on hold through 17 January 2025
    then:  held
           + Signed off since 13 January 2025, through 10 February 2025.
           + The prescriber has authorised it.
           - On hold from 17 January 2025 through 17 January 2025.
           - Held: t is not signed off.
  20 January 2025
    10:00  crit: assessment (patient, lead, in person, hospital), edition 1, watched by rn1
             20 January 2025: critical, a.
             It opened a recheck.
    then:  held
           + Signed off since 13 January 2025, through 10 February 2025.
           - To show again: 0 of 1 so far.
           + The prescriber has authorised it.
           - To be shown again since 20 January 2025: the demonstration that day was critical.
           + t is signed off, as this needs.
  21 January 2025
    10:00  again: assessment (patient, lead, in person, hospital), edition 1, watched by rn1
             21 January 2025: passed, counts.
             It closed a recheck.
             It renewed the sign-off.
    then:  signed off
           + Signed off since 13 January 2025, through 21 February 2025.
           + The prescriber has authorised it.
           + t is signed off, as this needs.
  25 January 2025
           rc: to be shown again: an incident at home
    then:  held
           + Signed off since 13 January 2025, through 21 February 2025.
           - To show again: 0 of 1 so far.
           + The prescriber has authorised it.
           - To be shown again since 25 January 2025: a recheck was asked for.
           + t is signed off, as this needs.
  10 February 2025
    12:00  p-2025-02-10: the care plan changes: cuff air, tube_id_mm 5.5
    then:  held
           + Signed off since 13 January 2025, through 21 February 2025.
           - To show again: 0 of 1 so far.
           + The prescriber has authorised it.
           - To be shown again since 25 January 2025: a recheck was asked for.
           - To be shown again since 10 February 2025: cuff changed.
           + t is signed off, as this needs.
  21 February 2025
           a1: this authorisation is over
    then:  held
           + Signed off since 13 January 2025, through 21 February 2025.
           - To show again: 0 of 1 so far.
           - No authorisation of the prescriber is in force.
           - To be shown again since 25 January 2025: a recheck was asked for.
           - To be shown again since 10 February 2025: cuff changed.
           + t is signed off, as this needs.
  22 February 2025
           a2: the prescriber authorises it, without a last day
    then:  lapsed
           - 21 February 2025 was the last day. A renewal by 3 March 2025 brings it back.
           - 0 of 2 passes.
           + Gate open: t.
           - To show again: 0 of 1 so far.
           + The prescriber has authorised it.
           - To be shown again since 25 January 2025: a recheck was asked for.
           - To be shown again since 10 February 2025: cuff changed.
  28 February 2025
           w: withdrawn: unsafe; meanwhile: a nurse
    then:  withdrawn
           - Withdrawn on 28 February 2025. Only a full sign-off leads back.
           - 0 of 2 passes.
           + Gate open: t.
           - To show again: 0 of 1 so far.
           + The prescriber has authorised it.
           - To be shown again since 25 January 2025: a recheck was asked for.
           - To be shown again since 10 February 2025: cuff changed.
  2 March 2025
           acc: the sign-off of North is taken over, through 1 May 2025 at the latest
    then:  signed off
           + Signed off since 2 March 2025, through 2 April 2025.
           + The prescriber has authorised it.
           + t is signed off, as this needs.
  1 April 2025
           edition 2 of the checklist comes into force
    then:  signed off
           + Signed off since 2 March 2025, through 2 April 2025.

On 5 March 2025
  signed off
  Last day: 2 April 2025.
  Asked of this caregiver: no.
  May be practised on the patient, under a clinician's eye: yes.
  + Signed off since 2 March 2025, through 2 April 2025.
  + The prescriber has authorised it.
  + t is signed off, as this needs.

Left out
  voided: voided on 24 January 2025: typed twice
  late: recorded later
"""

WITHOUT_A_PLAN = """\
ana: s, on 1 March 2025, with everything ever recorded

Through time
  There is no care plan, so there is no standing.

What happened
  1 January 2025
           edition 1 of the checklist comes into force
    then:  no standing yet
           - There is no care plan on this day yet.

On 1 March 2025
  no standing yet
  Asked of this caregiver: no.
  May be practised on the patient, under a clinician's eye: no.
  - There is no care plan on this day yet.
"""

OF_A_CARD = """\
ana: s, on 1 March 2025, with everything ever recorded

Through time
     1 January 2025 - 9 January 2025     not started
    10 January 2025 - 10 February 2025   signed off
   11 February 2025 - 9 March 2025       lapsed
      10 March 2025 - on                 signed off

What happened
  1 January 2025
           edition 1 of the checklist comes into force
           p-2025-01-01: the care plan begins: cuff none, suction true, tube_id_mm 5
    then:  not started
           - No current card has been seen.
  10 January 2025
           card1: a card issued elsewhere, current through 10 February 2025
    then:  signed off
           + Signed off since 10 January 2025, through 10 February 2025.
  10 March 2025
           card2: a card issued elsewhere, current without a last day
    then:  signed off
           + Signed off since 10 March 2025; it does not lapse.

On 1 March 2025
  lapsed
  Last day: 10 February 2025.
  Asked of this caregiver: no.
  May be practised on the patient, under a clinician's eye: yes.
  - 10 February 2025 was the last day of the card. Only a new card brings it back.
  - No current card has been seen.
"""


@pytest.mark.parametrize(
    ("records", "changes", "text"),
    [
        (RECORDS, EVERY_KIND, WITH_EVERY_KIND),
        ([], {"care_plan": []}, WITHOUT_A_PLAN),
        (
            [
                other("certificate", "2025-01-10", through="2025-02-10", id="card1"),
                other("certificate", "2025-03-10", through=None, id="card2"),
            ],
            {"skills": CARD},
            OF_A_CARD,
        ),
    ],
    ids=["a record of every kind", "no care plan", "a card"],
)
def test_a_whole_account(records, changes, text):
    assert told(*records, **changes) + "\n" == text


def test_nothing_is_told_of_a_skill_before_anything_was_recorded():
    text = told(care_plan=[], skills=[skill("s", edition())], known_at="2024-11-01T00:00:00Z")

    assert "What happened\n  Nothing has been recorded.\n" in text


def test_who_had_no_part_is_not_told():
    """Another caregiver's records, voided or not, are theirs."""
    ben = {"id": "ben", "sets": [], "records": [shown("2025-01-10", id="his"), shown("2025-01-11", id="gone")]}
    void = {"id": "v", "record": "gone", "reason": "typed twice", "recorded_at": "2025-01-20T08:00:00Z"}
    text = told(caregivers=[{"id": "ana", "sets": [], "records": []}, ben], voids=[void])

    assert ("his" in text.split(), "gone" in text, "Left out" in text) == (False, False, False)


@pytest.mark.parametrize(
    ("record", "void", "left_out"),
    [
        (shown("2025-01-10", id="x", code="t"), "x", None),
        (
            other("hold", "2025-01-10", id="x", skill=None, through=None),
            "x",
            "  x: voided on 20 January 2025: typed twice",
        ),
        (shown("2025-01-10", id="x"), "x", "  x: voided on 20 January 2025: typed twice"),
    ],
)
def test_what_is_left_out_bears_on_the_skill(record, void, left_out):
    said = {"id": "v", "record": void, "reason": "typed twice", "recorded_at": "2025-01-20T08:00:00Z"}
    text = told(record, skills=[skill(), skill("t")], voids=[said])

    assert text.partition("\n\nLeft out\n")[2] == (left_out or "")


def test_an_override_that_is_voided_is_left_out_with_its_attempt_s_skill():
    void = {"id": "v", "record": "o", "reason": "a mistake", "recorded_at": "2025-01-20T08:00:00Z"}
    attempts = [shown("2025-01-10", id="x"), aside("override", "o", "x", "2025-01-11", reason="sound")]

    assert told(*attempts, voids=[void]).partition("\n\nLeft out\n")[2] == "  o: voided on 20 January 2025: a mistake"


def test_of_two_voids_the_first_is_told():
    voids = [
        {"id": f"v{n}", "record": "x", "reason": reason, "recorded_at": f"2025-01-2{n}T08:00:00Z"}
        for n, reason in enumerate(["typed twice", "again"])
    ]
    text = told(shown("2025-01-10", id="x"), voids=voids)

    assert text.partition("\n\nLeft out\n")[2] == "  x: voided on 20 January 2025: typed twice"


def test_resolutions_and_overrides_stand_in_the_order_they_were_recorded():
    attempt = shown("2025-01-10", id="x", second={"observer": "rn2", "results": {"a": "omitted"}})
    asides = [
        aside("resolution", "b", "x", "2025-01-12", take="second"),
        aside("override", "c", "x", "2025-01-11", reason="sound"),
        aside("resolution", "a", "x", "2025-01-12", take="lead"),
    ]
    lines = [line.strip() for line in told(attempt, *asides).splitlines() if line.startswith(" " * 13)]

    assert [line[0] for line in lines[:3]] == ["c", "a", "b"]


def test_two_attempts_at_one_time_are_told_in_the_order_of_their_ids():
    text = told(
        shown("2025-01-10", id="two"),
        shown("2025-01-10", id="one"),
        other("hold", "2025-01-10", time="10:00", through=None, id="three"),
    )

    assert text.index("  one: ") < text.index("  three: ") < text.index("  two: ")


def test_a_word_with_a_hyphen_is_not_broken():
    """Ids hold hyphens, and have to be found again."""
    text = told(other("recheck", "2025-01-10", reason="half-done " * 30))

    assert [line for line in text.splitlines() if line.endswith("-")] == []


@pytest.mark.parametrize(
    ("caregivers", "message"),
    [
        ([{"id": "ben"}, {"id": "cleo"}], '"ana" is no caregiver of this case; there are: ben, cleo'),
        ([], '"ana" is no caregiver of this case; there are: none'),
    ],
)
def test_who_is_not_there_is_told_who_is(caregivers, message):
    with pytest.raises(UnknownNameError) as refusal:
        told(caregivers=caregivers)

    assert str(refusal.value) == message


def test_midnight_is_a_time():
    assert "    00:00  x: assessment" in told(shown("2025-01-10", at="00:00", id="x"))


def test_what_is_asked_of_a_caregiver_is_told():
    rules = [
        {"in_force_from": "2025-01-01", "recorded_at": "2024-12-01T09:00:00Z", "sets": {"full": ["s"]}, "team": []}
    ]
    programme = {"code": "p", "skills": [skill()], "rules": rules}
    text = told(programme=programme, caregivers=[{"id": "ana", "sets": ["full"]}])

    assert "  Asked of this caregiver: yes." in text.splitlines()


def test_a_reason_that_is_neither_met_nor_unmet_has_no_mark():
    skills = [skill("s", edition(on_change={"cuff": {"recheck_by": "P7D"}}))]
    text = told(shown("2025-01-10"), skills=skills, care_plan=[plan(), plan("2025-02-28", {"cuff": "air"})])

    assert text.splitlines()[-2].startswith("    To be shown again")


def test_a_long_reason_goes_on_under_its_first_word():
    need = {
        "passes": 3,
        "days": 3,
        "observers": 2,
        "places": 2,
        "within": "P3M",
        "setting": ["model", "patient"],
        "mode": ["in_person"],
    }
    last = told(skills=[skill("s", edition(standard=standard(needs=[need])))]).splitlines()[-2:]

    assert [line[:4] for line in last] == ["  - " + "", "    "]
    assert (last[0][4] != " ", last[1][4] != " ") == (True, True)


def test_within_a_day_the_edition_comes_first_then_the_plan_by_its_ids():
    words = [word("Z", "s", "2025-01-01", "2025-01-04"), word("a", "s", "2025-01-05")]
    text = told(
        authorisations=words,
        care_plan=[plan(id="A"), plan("2025-01-05", {"cuff": "air"}, id="B")],
        skills=[skill("s", edition(needs_authorisation=True), edition(2, in_force_from="2025-01-05"))],
    )
    order = ["edition 1 of", "A: the care plan begins", "Z: the prescriber", "edition 2 of", "B: the care plan changes", "Z: this authorisation", "a: the prescriber"]  # fmt: skip
    places = [text.index(what) for what in order]

    assert places == sorted(places)


def test_a_pass_behind_a_closed_gate_says_what_it_counts_toward():
    text = told(shown("2025-01-10", id="x"), skills=[skill("s", edition(requires=[{"skill": "t"}])), skill("t")])

    assert (
        "Outcome: passed. 10 January 2025: passed, does not count toward a full sign-off: the gate was closed (t). "
        "It counts toward renewals and rechecks. then: in training" in " ".join(text.split())
    )


def test_a_voided_override_of_another_skills_attempt_is_not_told():
    void = {"id": "v", "record": "o", "reason": "a mistake", "recorded_at": "2025-01-20T08:00:00Z"}
    records = [shown("2025-01-10", id="x", code="t"), aside("override", "o", "x", "2025-01-11", reason="sound")]

    assert "Left out" not in told(*records, skills=[skill(), skill("t")], voids=[void])


def test_recorded_and_voided_at_the_instant_asked_about():
    void = {"id": "v", "record": "x", "reason": "typed twice", "recorded_at": "2025-01-20T08:00:00Z"}
    text = told(
        shown("2025-01-10", id="x", recorded_at="2025-01-20T08:00:00Z"), voids=[void], known_at="2025-01-20T08:00:00Z"
    )

    assert text.partition("\n\nLeft out\n")[2] == "  x: voided on 20 January 2025: typed twice"


def test_a_long_word_on_what_is_left_out_goes_on_further_in():
    void = {"id": "v", "record": "x", "reason": "again and " * 20, "recorded_at": "2025-01-20T08:00:00Z"}
    lines = told(shown("2025-01-10", id="x"), voids=[void]).partition("\n\nLeft out\n")[2].splitlines()

    assert [len(line) - len(line.lstrip()) for line in lines] == [2, 4, 4]


def test_a_fact_is_told_as_it_was_stated():
    text = told(care_plan=[plan(facts={"tube": "a:b", "version": "v1.0", "size": 5, "half": 5.5, "oxygen": True})])

    assert "the care plan begins: half 5.5, oxygen true, size 5, tube a:b, version v1.0" in " ".join(text.split())
