"""``python -m competency --explain``: one caregiver and one skill through time, in words."""

from __future__ import annotations

import io
import json
import random
import sys

import pytest

from competency.__main__ import main
from competency.explain import WIDTH, UnknownNameError, explain
from competency.reading import read_case
from tests.competency.build import data, edition, failed, history, other, plan, shown, skill, standard
from tests.naive.histories import SIZES, make_case

TWO = [skill("s", edition(standard=standard(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M")))]


def told(*records, code="s", **changes):
    return explain(read_case(data(*records, **changes)), "ana", code)


def part(text, heading):
    """The lines of one part of an account."""
    after = text.split(f"\n{heading}\n", 1)[1]
    return after.split("\n\n", 1)[0].splitlines()


def words_of(text, id_):
    """What is said of one record, on one line."""
    lines = text.splitlines()
    start = next(i for i, line in enumerate(lines) if f"  {id_}: " in line)
    block = [lines[start]]
    for line in lines[start + 1 :]:
        if not line.startswith(" " * 11):
            break
        block.append(line)
    return " ".join(" ".join(block).split())


# Parts ----------------------------------------------------------------------------------------------------


def test_spans_have_their_dates():
    text = told(shown("2025-01-10"), shown("2025-01-11"), skills=TWO)

    assert [" ".join(line.split()) for line in part(text, "Through time")] == [
        "1 January 2025 - 9 January 2025 not started",
        "10 January 2025 - 10 January 2025 in training",
        "11 January 2025 - 11 February 2025 signed off",
        "12 February 2025 - on lapsed",
    ]


def test_days_are_told_in_order():
    text = told(shown("2025-01-12"), shown("2025-01-10"), other("hold", "2025-01-11", through="2025-01-11"))
    days = [line.strip() for line in part(text, "What happened") if line.startswith("  ") and line[2] != " "]

    assert days == ["1 January 2025", "10 January 2025", "11 January 2025", "12 January 2025"]


def test_within_a_day_by_time():
    text = told(shown("2025-01-10", at="15:00", id="late"), shown("2025-01-10", at="08:30", id="early"))

    assert text.index("08:30  early: ") < text.index("15:00  late: ")


@pytest.mark.parametrize(
    ("why", "record", "said"),
    [
        ("counted", shown("2025-01-10", id="x"), "passed, counts."),
        ("it completed the sign-off", shown("2025-01-10", id="x"), "It completed the sign-off."),
        ("the step that was not", failed("2025-01-10", id="x"), "critical, a."),
        ("practice", shown("2025-01-10", id="x", purpose="practice"), "practice, counts for nothing."),
        ("the observer", shown("2025-01-10", id="x", observers=["new"]), "the observer was not qualified"),
        ("incomplete", shown("2025-01-10", id="x", results={"a": "not_seen"}), "incomplete, counts for nothing."),
        ("stopped", failed("2025-01-10", id="x", stopped="caregiver"), "critical, stopped for safety; not alone: a."),
        ("stopped, the rest unseen", shown("2025-01-10", id="x", results={"a": "not_seen"}, stopped="caregiver"), "critical, stopped for safety."),
        ("two observers", shown("2025-01-10", id="x", second={"observer": "rn2", "results": {"a": "omitted"}}), "two observers differ"),
        ("several days", shown("2025-01-10", id="x", began="2025-01-09"), "begun on 9 January 2025"),
        ("a recheck", other("recheck", "2025-01-10", id="x", reason="an incident"), "to be shown again: an incident"),
        ("a hold", other("hold", "2025-01-10", id="x", through="2025-01-12", reason="ill"), "on hold through 12 January 2025: ill"),
        ("a hold of all skills", other("hold", "2025-01-10", id="x", skill=None), "on hold without a last day"),
        ("withdrawn", other("withdrawal", "2025-01-10", id="x", reason="unsafe", cover="a nurse"), "withdrawn: unsafe; meanwhile: a nurse"),
        ("taken over", other("accepted", "2025-01-10", id="x", last_day="2025-06-01", organisation="North"), "the sign-off of North is taken over, through 1 June 2025"),
        ("signed", other("signature", "2025-01-10", id="x", by="educator"), "the educator signs"),
    ],
)  # fmt: skip
def test_each_record_says_what_became_of_it(why, record, said):
    assert said in words_of(told(record), "x"), why


@pytest.mark.parametrize(
    ("why", "records", "skills", "said"),
    [
        ("renewed", [shown("2025-01-10"), shown("2025-01-11"), shown("2025-01-20", id="x")], TWO, "It renewed the sign-off."),
        ("a recheck opened", [shown("2025-01-10"), failed("2025-01-20", id="x")], None, "It opened a recheck."),
        ("a recheck closed", [shown("2025-01-10"), failed("2025-01-20"), shown("2025-01-21", id="x")], None, "It closed a recheck."),
        ("signatures", [shown("2025-01-10", id="x")], [skill("s", edition(standard=standard(signatures=["educator"])))], "signatures are awaited."),
        ("a wait ended", [shown("2025-01-10"), failed("2025-01-11", id="x")], [skill("s", edition(standard=standard(signatures=["educator"])))], "It ended the wait for signatures"),
        ("the gate", [shown("2025-01-10", id="x")], [skill("s", edition(requires=[{"skill": "t"}])), skill("t")], "the gate was closed (t)."),
        ("behind a closed gate", [shown("2025-01-10", id="x")], [skill("s", edition(requires=[{"skill": "t"}])), skill("t")], "It counts toward renewals and rechecks."),
        ("no authorisation", [shown("2025-01-10", id="x")], [skill("s", edition(needs_authorisation=True))], "no authorisation that day."),
    ],
)  # fmt: skip
def test_each_deed_and_each_obstacle_is_named(why, records, skills, said):
    assert said in words_of(told(*records, skills=skills), "x"), why


def test_every_obstacle_of_one_pass_is_named():
    both = [skill("s", edition(requires=[{"skill": "t"}], needs_authorisation=True)), skill("t")]
    found = words_of(told(shown("2025-01-10", id="x"), skills=both), "x")

    assert ("no authorisation that day" in found, "the gate was closed (t)" in found) == (True, True)


@pytest.mark.parametrize(
    ("kind", "fields", "said"),
    [
        ("override", {"reason": "clinically sound"}, "let count by a supervisor on 20 January 2025: clinically sound"),
        ("resolution", {"take": "second"}, "resolved on 20 January 2025: the second observer's outcome stands"),
    ],
)
def test_what_is_about_an_attempt_stands_with_it(kind, fields, said):
    attempt = shown("2025-01-10", id="x", second={"observer": "rn2", "results": {"a": "omitted"}})
    about = {"kind": kind, "id": "y", "record": "x", "recorded_at": "2025-01-20T08:00:00Z"} | fields

    assert said in words_of(told(attempt, about), "x")


@pytest.mark.parametrize(("take", "said"), [("lead", "not passed, b."), ("second", "critical, a.")])
def test_the_steps_are_those_of_the_observer_whose_outcome_stands(take, said):
    steps = [{"code": "a", "critical": True}, {"code": "b"}, {"code": "c"}]
    lead = {"a": "independent", "b": "prompted", "c": "not_seen"}
    second = {"observer": "rn2", "results": {"a": "omitted", "b": "independent", "c": "not_seen"}}
    resolution = {"kind": "resolution", "id": "y", "record": "x", "take": take, "recorded_at": "2025-01-20T08:00:00Z"}
    text = told(
        shown("2025-01-10", id="x", results=lead, second=second), resolution, skills=[skill("s", edition(steps=steps))]
    )

    assert words_of(text, "x").endswith(f"10 January 2025: {said}")


def test_the_plan_is_told_where_it_bears_on_the_skill():
    skills = [skill("s", edition(needs_authorisation=True))]
    word = {
        "id": "a1",
        "skill": "s",
        "from": "2025-01-02",
        "through": "2025-01-31",
        "recorded_at": "2025-01-02T08:00:00Z",
    }
    text = told(
        skills=skills, authorisations=[word], care_plan=[plan(), plan("2025-01-20", {"cuff": "air", "tube_id_mm": 5})]
    )

    assert words_of(text, "p-2025-01-01").endswith("the care plan begins: cuff none, suction true, tube_id_mm 5")
    assert words_of(text, "p-2025-01-20").endswith("the care plan changes: cuff air")
    assert "a1: the prescriber authorises it, through 31 January 2025" in text
    assert "a1: this authorisation is over" in text
    assert "edition 1 of the checklist comes into force" in text


def test_other_skills_are_left_out():
    text = told(shown("2025-01-10", code="t", id="elsewhere"), skills=[skill(), skill("t")])

    assert "elsewhere" not in text


def test_what_is_still_needed_stands_at_the_end():
    lines = part(told(shown("2025-01-10"), skills=TWO), "On 1 March 2025")

    assert [line.strip() for line in lines] == [
        "in training",
        "Asked of this caregiver: no.",
        "May be practised on the patient, under a clinician's eye: yes.",
        "- 1 of 2 passes. 1 more.",
        "+ 10 January 2025: passed, counts.",
    ]


def test_a_voided_record_is_named_with_its_reason():
    void = {"id": "v", "record": "x", "reason": "typed twice", "recorded_at": "2025-01-20T08:00:00Z"}
    text = told(shown("2025-01-10", id="x"), voids=[void])

    assert part(text, "Left out") == ["  x: voided on 20 January 2025: typed twice"]


def test_what_was_recorded_later_is_left_out():
    text = told(shown("2025-01-10", id="x", recorded_at="2025-02-10T08:00:00Z"), known_at="2025-02-01T00:00:00Z")

    assert part(text, "Left out") == ["  x: recorded later"]
    assert "as known at 2025-02-01T00:00:00Z" in text


def test_without_a_care_plan_there_is_no_standing():
    assert "There is no care plan, so there is no standing." in told(care_plan=[])


@pytest.mark.parametrize("size", SIZES)
def test_any_case_can_be_told_within_its_width(size):
    case = read_case(make_case(random.Random(f"explain {size}"), size))
    texts = [explain(case, c.id, code) for c in case.caregivers for code in case.programme.skills]

    assert [line for text in texts for line in text.splitlines() if len(line) > WIDTH or line != line.rstrip()] == []


def test_every_attempt_is_told():
    case = read_case(make_case(random.Random("explain all"), "dense"))
    text = explain(case, "ana", next(iter(case.programme.skills)))
    attempts = [
        r.id for r in case.caregivers[0].records if getattr(r, "skill", "") == next(iter(case.programme.skills))
    ]

    assert [id_ for id_ in attempts if f"{id_}: " not in text] == []


# The door -------------------------------------------------------------------------------------------------


@pytest.fixture
def ask(monkeypatch, capsys):
    def asked(case, *words):
        text = case if isinstance(case, str) else json.dumps(case)
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(text.encode())))
        status = main(words)
        return status, *capsys.readouterr()

    return asked


def test_the_account_is_printed(ask):
    case = data(shown("2025-01-10"))

    assert ask(case, "--explain", "ana", "s") == (0, explain(read_case(case), "ana", "s") + "\n", "")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("ben", "s"), '"ben" is no caregiver of this case; there are: ana\n'),
        (("ana", "t"), '"t" is no skill of this case; there are: s\n'),
    ],
)
def test_a_name_that_is_not_there(ask, words, message):
    assert ask(data(), "--explain", *words) == (2, "", message)


def test_a_refused_case_is_not_explained(ask):
    assert ask(data(on="soon"), "--explain", "ana", "s") == (
        2,
        "",
        'on: is "soon", not a date such as 2025-02-03\n',
    )


@pytest.mark.parametrize(
    "words", [("--explain", "ana"), ("--explain",), ("--schema", "--explain", "ana", "s"), ("--x",)]
)
def test_a_command_line_that_cannot_be_read(words):
    with pytest.raises(SystemExit) as stop:
        main(words)

    assert stop.value.code == 2


def test_an_unknown_name_is_an_error_of_its_own():
    with pytest.raises(UnknownNameError):
        explain(read_case(data()), "nobody", "s")


def test_it_decides_nothing():
    """The standing at the end of each day is the rules' own."""
    records = [shown("2025-01-10"), failed("2025-01-15"), shown("2025-01-20")]
    text = told(*records)
    found = [line.split("then:")[1].strip() for line in text.splitlines() if "    then:" in line]
    days = [s.value.value.replace("_", " ") for s in history(*records).line("ana", "s")]

    assert found == days
