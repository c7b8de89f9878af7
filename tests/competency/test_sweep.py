"""One caregiver's records in their order (design 4.3): what became of each attempt, gates, holds, both of two observers."""

from __future__ import annotations

from datetime import date

import pytest

from competency.scoring import Outcome
from tests.competency.build import (
    EARLY,
    FACTS,
    FIRST,
    edition,
    failed,
    history,
    one,
    other,
    plan,
    shown,
    skill,
    spans,
    standard,
    standing,
)


def judged(*records, id_="x", **changes):
    return history(*records, **changes).sweeps["ana"].judged[id_]


def became(*records, id_="x", **changes):
    """(outcome, counts, full, overridden, kept_out, gate, deeds) of one attempt."""
    j = judged(*records, id_=id_, **changes)
    return (j.outcome.value, j.counts, j.full, j.overridden, j.kept_out, j.gate, j.deeds)


def aside(kind, record="x", id_="o", day="2025-01-20", **fields):
    return {"kind": kind, "id": id_, "record": record, "recorded_at": f"{day}T08:00:00Z"} | fields


OVERRIDE = aside("override", reason="sound")
SIGNED = ("signed_off",)
CLOSED = ("closed_recheck", "signed_off")
X = shown("2025-01-10", id="x")
GATED = [skill("s", edition(requires=[{"skill": "t"}, {"skill": "u"}])), skill("t"), skill("u")]
ASKED = [skill("s", edition(needs_authorisation=True))]
REPLACED = [skill("s", edition(), edition(2, in_force_from="2025-01-10", older_sign_offs="recheck"))]
ALL = [
    skill("s", edition(requires=[{"skill": "t"}], needs_authorisation=True), edition(2, in_force_from="2025-01-10", older_sign_offs="recheck", requires=[{"skill": "t"}], needs_authorisation=True)),
    skill("t"),
]  # fmt: skip
DIFFERS = {"second": {"observer": "rn2", "results": {"a": "omitted"}}}


@pytest.mark.parametrize(
    ("what", "records", "skills", "expected"),
    [
        ("it counts", [X], None, ("passed", True, True, False, (), (), SIGNED)),
        ("practice", [X | {"purpose": "practice"}], None, ("passed", False, False, False, ("practice",), (), ())),
        ("practice that failed", [failed("2025-01-10", id="x", purpose="practice")], None, ("critical", False, False, False, ("practice",), (), ())),
        ("practice is not overridden", [X | {"purpose": "practice"}, OVERRIDE], None, ("passed", False, False, False, ("practice",), (), ())),
        ("the observer", [X | {"observers": ["new", "rn1"]}], None, ("passed", False, False, False, ("observer",), (), ())),
        ("the observer is not overridden", [X | {"observers": ["new"]}, OVERRIDE], None, ("passed", False, False, False, ("observer",), (), ())),
        ("practice before an unqualified observer", [X | {"purpose": "practice", "observers": ["new"]}], None, ("passed", False, False, False, ("practice",), (), ())),
        ("the second named needs no word", [X | {"observers": ["rn1", "new"]}], None, ("passed", True, True, False, (), (), SIGNED)),
        ("critical", [failed("2025-01-10", id="x")], None, ("critical", False, False, False, (), (), ())),
        ("incomplete", [X | {"results": {"a": "not_seen"}}], None, ("incomplete", False, False, False, (), (), ())),
        ("disputed", [X | DIFFERS], None, ("disputed", False, False, False, (), (), ())),
        ("a second who is not qualified moves nothing", [X | {"second": {"observer": "new", "results": {"a": "omitted"}}}], None, ("passed", True, True, False, (), (), SIGNED)),
        ("the gate", [X], GATED, ("passed", True, False, False, ("gate",), ("t", "u"), ())),
        ("half of the gate", [shown("2025-01-09", code="u"), X], GATED, ("passed", True, False, False, ("gate",), ("t",), ())),
        ("the gate, on a model", [X | {"setting": "model"}], GATED, ("passed", True, True, False, (), (), SIGNED)),
        ("the gate, in simulation", [X | {"setting": "simulation"}], GATED, ("passed", True, True, False, (), (), SIGNED)),
        ("the gate, overridden", [X, OVERRIDE], GATED, ("passed", True, True, True, ("gate",), ("t", "u"), SIGNED)),
        ("authorisation", [X], ASKED, ("passed", False, False, False, ("authorisation",), (), ())),
        ("authorisation, on a model", [X | {"setting": "model"}], ASKED, ("passed", True, True, False, (), (), SIGNED)),
        ("authorisation, overridden", [X, OVERRIDE], ASKED, ("passed", True, True, True, ("authorisation",), (), SIGNED)),
        ("the edition", [X], REPLACED, ("passed", False, False, False, ("edition",), (), ())),
        ("the edition, on a model", [X | {"setting": "model"}], REPLACED, ("passed", False, False, False, ("edition",), (), ())),
        ("the edition, overridden", [X, OVERRIDE], REPLACED, ("passed", True, True, True, ("edition",), (), CLOSED)),
        ("all three", [X], ALL, ("passed", False, False, False, ("edition", "authorisation", "gate"), ("t",), ())),
        ("all three, overridden", [X, OVERRIDE], ALL, ("passed", True, True, True, ("edition", "authorisation", "gate"), ("t",), CLOSED)),
        ("an override of nothing kept out", [X, OVERRIDE], None, ("passed", True, True, True, (), (), SIGNED)),
        ("an override of a failure does nothing", [failed("2025-01-10", id="x"), OVERRIDE], None, ("critical", False, False, False, (), (), ())),
    ],
)  # fmt: skip
def test_what_became_of_an_attempt(what, records, skills, expected):
    assert became(*records, **({"skills": skills} if skills else {})) == expected, what


def test_a_pass_behind_a_closed_gate_renews():
    records = [shown("2025-01-08", code="t"), shown("2025-01-08", code="u"), shown("2025-01-09"), other("hold", "2025-01-10", skill="t", through=None), X]  # fmt: skip

    assert became(*records, skills=GATED) == ("passed", True, False, False, ("gate",), ("t",), ("renewed",))


def test_a_failure_that_opens_a_recheck_says_so():
    assert became(shown("2025-01-09"), failed("2025-01-10", id="x"))[-1] == ("opened_recheck",)


def test_deeds_are_of_one_attempt():
    """What an attempt brought about is not said of the next."""
    found = history(
        shown("2025-01-09", id="w"), other("recheck", "2025-01-09", reason="r", id="rc"), failed("2025-01-10", id="x")
    ).sweeps["ana"]

    assert [found.judged[id_].deeds for id_ in ("w", "x")] == [("closed_recheck", "signed_off"), ("opened_recheck",)]


@pytest.mark.parametrize(("code", "kept_out"), [("s", ()), ("t", ("observer",)), (None, ())])
def test_the_observer_is_qualified_for_the_skill(code, kept_out):
    word = {"id": "q", "observer": "rn1", "skill": code, "from": FIRST, "through": None, "recorded_at": EARLY}

    assert judged(X, skills=[skill("s"), skill("t")], qualifications=[word]).kept_out == kept_out


@pytest.mark.parametrize(("code", "outcome"), [("s", "disputed"), ("t", "passed"), (None, "disputed")])
def test_so_is_the_second(code, outcome):
    words = [
        {"id": f"q-{who}", "observer": who, "skill": only, "from": FIRST, "through": None, "recorded_at": EARLY}
        for who, only in (("rn1", None), ("rn2", code))
    ]

    assert judged(X | DIFFERS, skills=[skill("s"), skill("t")], qualifications=words).outcome.value == outcome


# Two observers --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "asides", "outcome"),
    [
        ("none", [], "disputed"),
        ("the lead's", [("r", "2025-01-20", "lead")], "passed"),
        ("the second's", [("r", "2025-01-20", "second")], "critical"),
        ("the last recorded stands", [("r", "2025-01-20", "lead"), ("q", "2025-01-21", "second")], "critical"),
        ("in whatever order", [("q", "2025-01-21", "second"), ("r", "2025-01-20", "lead")], "critical"),
        ("of one instant the id decides", [("r", "2025-01-20", "second"), ("q", "2025-01-20", "lead")], "critical"),
        ("of one instant, in whatever order", [("q", "2025-01-20", "lead"), ("r", "2025-01-20", "second")], "critical"),
    ],
)
def test_resolutions(sentence, asides, outcome):
    records = [aside("resolution", id_=id_, day=day, take=take) for id_, day, take in asides]

    assert judged(X | DIFFERS, *records).outcome.value == outcome, sentence


def test_a_resolution_is_of_its_own_attempt():
    records = [X | DIFFERS, shown("2025-01-11", id="y") | DIFFERS, aside("resolution", take="second")]

    assert [judged(*records, id_=id_).outcome for id_ in ("x", "y")] == [Outcome.CRITICAL, Outcome.DISPUTED]


def test_a_resolution_acts_on_the_attempts_own_day():
    records = [X | DIFFERS, aside("resolution", day="2025-03-01", take="lead")]

    assert spans(history(*records))[1:] == [("signed_off", "2025-01-10", None)]


# Order within a day ---------------------------------------------------------------------------------------

CARD = [skill("s", edition(standard={"evidence": "certificate"}, steps=[]))]


@pytest.mark.parametrize(
    ("sentence", "records", "expected"),
    [
        ("a recheck without a time is before the pass", [X, other("recheck", "2025-01-10", reason="r")], "signed_off"),
        ("a recheck at the same time too", [X, other("recheck", "2025-01-10", time="10:00", reason="r")], "signed_off"),
        ("a recheck a second later", [X, other("recheck", "2025-01-10", time="10:00:01", reason="r")], "held"),
        ("a withdrawal at the same time is before the pass", [X, other("withdrawal", "2025-01-10", time="10:00", reason="r", cover="c")], "signed_off"),
        ("a withdrawal a second later", [X, other("withdrawal", "2025-01-10", time="10:00:01", reason="r", cover="c")], "withdrawn"),
        ("a withdrawal is before an acceptance", [other("accepted", "2025-01-10", last_day=None, organisation="o", id="a"), other("withdrawal", "2025-01-10", reason="r", cover="c", id="z")], "signed_off"),
        ("whatever their ids", [other("accepted", "2025-01-10", last_day=None, organisation="o", id="z"), other("withdrawal", "2025-01-10", reason="r", cover="c", id="a")], "signed_off"),
        ("a recheck is before an acceptance", [other("accepted", "2025-01-10", last_day=None, organisation="o", id="a"), other("recheck", "2025-01-10", reason="r", id="z")], "signed_off"),
        ("of two passes the earlier", [shown("2025-01-10", at="11:00", id="y"), failed("2025-01-10", at="12:00", id="x")], "held"),
        ("of two at one time the id", [shown("2025-01-10", id="b"), failed("2025-01-10", id="a")], "signed_off"),
        ("of two at one time the id, the other way", [shown("2025-01-10", id="a"), failed("2025-01-10", id="b")], "held"),
    ],
)  # fmt: skip
def test_the_order_within_a_day(sentence, records, expected):
    assert standing(history(*records), "2025-01-10") == expected, sentence


@pytest.mark.parametrize(
    ("sentence", "records", "expected"),
    [
        ("a withdrawal is before a card", [other("certificate", "2025-01-10", through=None, id="a"), other("withdrawal", "2025-01-10", reason="r", cover="c", id="z")], "signed_off"),
        ("a recheck is before a withdrawal, a card after both", [other("recheck", "2025-01-10", reason="r"), other("withdrawal", "2025-01-10", reason="r", cover="c"), other("certificate", "2025-01-10", through=None)], "signed_off"),
        ("a card is before an acceptance: the acceptance's last day holds", [other("accepted", "2025-01-10", last_day="2025-01-10", organisation="o", id="a"), other("certificate", "2025-01-10", through=None, id="z")], "signed_off"),
    ],
)  # fmt: skip
def test_the_order_of_cards_within_a_day(sentence, records, expected):
    assert standing(history(*records, skills=CARD), "2025-01-10") == expected, sentence


def test_a_card_is_before_an_acceptance_of_one_day():
    records = [other("accepted", "2025-01-10", last_day="2025-01-15", organisation="o", id="a"), other("certificate", "2025-01-10", through="2025-02-01", id="z")]  # fmt: skip

    assert standing(history(*records, skills=CARD), "2025-01-16") == "lapsed"


def test_a_signature_is_before_the_pass_of_its_minute_and_counts_for_it():
    records = [X, other("signature", "2025-01-10", time="10:00", by="educator")]

    assert standing(history(*records, skills=one(signatures=["educator"])), "2025-01-10") == "signed_off"


def test_an_acceptance_is_before_a_signature():
    """The acceptance ends the wait: nothing is left to sign, and its last day holds."""
    made = one(signatures=["educator"], valid_for="P1Y")
    records = [shown("2025-01-09"), other("signature", "2025-01-10", by="educator", id="a"), other("accepted", "2025-01-10", last_day="2025-01-20", organisation="o", id="z")]  # fmt: skip

    assert standing(history(*records, skills=made), "2025-01-21") == "lapsed"


@pytest.mark.parametrize(
    ("sentence", "time", "expected"),
    [
        ("without a time it is before everything recorded", None, "01-10 held"),
        ("at the time of the pass it is before it", "10:00", "01-10 held"),
        ("a minute later", "10:01", "01-10 held"),
    ],
)
def test_a_care_plan_entry_of_the_day(sentence, time, expected):
    """Signed off on the 9th; the cuff changes on the 10th and a pass of 10:00 closes what opened before it."""
    made = [skill("s", edition(on_change={"cuff": "recheck"}))]
    found = history(
        shown("2025-01-09"), X, skills=made, care_plan=[plan(), plan("2025-01-10", {"cuff": "air"}, time=time)]
    )

    assert (standing(found, "2025-01-10") == "held") is (time == "10:01"), sentence


def test_an_edition_starts_before_what_is_recorded_on_its_day():
    made = [skill("s", edition(), edition(2, in_force_from="2025-01-10", older_sign_offs="recheck"))]

    assert spans(history(shown("2025-01-09"), shown("2025-01-10", edition=2), skills=made))[1:] == [
        ("signed_off", "2025-01-09", None)
    ]


# An attempt over several days -----------------------------------------------------------------------------

STAY = [skill("s", edition(requires=[{"skill": "t", "within": "P10D"}])), skill("t")]


@pytest.mark.parametrize(
    ("sentence", "shown_on", "began", "gate"),
    [
        ("its gate is that of the end of the day it began", "2025-01-09", "2025-01-09", ()),
        ("not of a day later", "2025-01-10", "2025-01-09", ("t",)),
        ("within counts to that day", "2025-01-01", "2025-01-11", ()),
        ("and not a day further", "2025-01-01", "2025-01-12", ("t",)),
        ("without it, to the end of the attempt", "2025-01-10", None, ()),
        ("without it, and too long ago", "2025-01-04", None, ("t",)),
    ],
)
def test_the_gate_of_an_attempt_over_several_days(sentence, shown_on, began, gate):
    records = [shown(shown_on, code="t", at="20:00"), shown("2025-01-15", id="x", began=began)]

    assert judged(*records, skills=STAY).gate == gate, sentence


def test_two_stays_that_began_on_days_of_their_own():
    records = [
        shown("2025-01-10", code="t"),
        shown("2025-01-12", id="x", began="2025-01-09"),
        shown("2025-01-13", id="y", began="2025-01-11"),
    ]

    assert [judged(*records, id_=id_, skills=STAY).gate for id_ in ("x", "y")] == [("t",), ()]


def test_before_there_was_an_edition_the_gate_was_closed():
    made = [skill("s", edition(in_force_from="2025-01-10", recorded_at=EARLY))]
    found = judged(shown("2025-01-11", id="x", began="2025-01-09"), skills=made)

    assert (found.full, found.counts, found.kept_out, found.gate) == (False, True, ("gate",), ())


def test_a_stay_ends_what_it_is_dated_by():
    assert spans(history(shown("2025-01-12", began="2025-01-10")))[1:] == [("signed_off", "2025-01-12", None)]


# Gates in a row -------------------------------------------------------------------------------------------


def row(*, learn=False, authorised=True):
    """u needs t, t needs s."""
    return [
        skill("s", edition(standard=standard(valid_for="P1M"), needs_authorisation=not authorised)),
        skill("t", edition(requires=[{"skill": "s", "only_to_learn": learn}])),
        skill("u", edition(requires=[{"skill": "t"}])),
    ]


def in_a_row(*more):
    return [shown("2025-01-08"), shown("2025-01-09", code="t"), shown("2025-01-10", code="u"), *more]


@pytest.mark.parametrize(
    ("sentence", "records", "skills", "standings"),
    [
        ("all signed off", in_a_row(), row(), ("signed_off", "signed_off", "signed_off")),
        (
            "the first on hold holds all",
            in_a_row(other("hold", "2025-01-11", through=None)),
            row(),
            ("held", "held", "held"),
        ),
        ("the first lapsed holds the others", in_a_row(), row(), ("lapsed", "held", "held")),
        ("only to learn holds nothing", in_a_row(), row(learn=True), ("lapsed", "signed_off", "signed_off")),
        (
            "a recheck of the second",
            in_a_row(other("recheck", "2025-01-11", skill="t", reason="r")),
            row(),
            ("signed_off", "held", "held"),
        ),
    ],
)
def test_gates_in_a_row(sentence, records, skills, standings):
    day = "2025-02-09" if "lapsed" in standings else "2025-01-11"
    found = history(*records, skills=skills)

    assert tuple(standing(found, day, code) for code in "stu") == standings, sentence


@pytest.mark.parametrize(
    ("what", "record"),
    [
        ("a hold", other("hold", "2025-01-11", through="2025-01-12")),
        ("a hold of all", other("hold", "2025-01-11", skill=None, through="2025-01-12")),
        ("a recheck", other("recheck", "2025-01-11", reason="r")),
        ("a withdrawal", other("withdrawal", "2025-01-11", reason="r", cover="c")),
    ],
)
def test_what_makes_the_first_unusable_closes_the_gate_of_the_third(what, record):
    """At the moment of the attempt; only gates that are not yet passed are asked."""
    records = [shown("2025-01-08"), shown("2025-01-09", code="t"), record, shown("2025-01-12", code="u", id="x")]

    assert judged(*records, skills=row()).gate == ("t",), what


def test_the_day_after_the_hold_the_gate_is_open_again():
    records = [shown("2025-01-08"), shown("2025-01-09", code="t"), other("hold", "2025-01-11", through="2025-01-12"), shown("2025-01-13", code="u", id="x")]  # fmt: skip

    assert judged(*records, skills=row()).gate == ()


def test_a_prerequisite_without_authorisation_closes_the_gate():
    word = {"id": "a", "skill": "s", "from": FIRST, "through": "2025-01-09", "recorded_at": EARLY}
    records = [shown("2025-01-08"), shown("2025-01-09", code="t", id="w"), shown("2025-01-10", code="u", id="x")]
    found = history(*records, skills=row(authorised=False), authorisations=[word]).sweeps["ana"]

    assert [found.judged[id_].gate for id_ in ("w", "x")] == [(), ("t",)]


def test_a_prerequisite_that_lapsed_the_day_before_closes_the_gate():
    records = [shown("2025-01-08"), shown("2025-02-08", code="t", id="w"), shown("2025-02-09", code="t", id="x")]
    found = history(*records, skills=row()).sweeps["ana"]

    assert [found.judged[id_].gate for id_ in ("w", "x")] == [(), ("s",)]


def test_a_prerequisite_that_is_no_longer_required_is_waived():
    """The plan of 11 January does not call for s any more."""
    made = [skill("s", edition(applies_when={"cuff": ["none"]})), skill("t", edition(requires=[{"skill": "s"}]))]
    plans = [plan(), plan("2025-01-11", FACTS | {"cuff": "air"})]
    records = [shown("2025-01-10", code="t", id="w"), shown("2025-01-11", code="t", id="x")]
    found = history(*records, skills=made, care_plan=plans).sweeps["ana"]

    assert [found.judged[id_].gate for id_ in ("w", "x")] == [("s",), ()]


# The end of a day -----------------------------------------------------------------------------------------


def test_nothing_later_is_fed_at_the_end_of_a_day():
    found = history(shown("2025-01-10", id="x"), shown("2025-01-11", id="y"), failed("2025-01-12", id="z"))

    assert [list(found.at_end_of(date(2025, 1, day), "ana").judged) for day in (9, 10, 11, 12)] == [
        [],
        ["x"],
        ["x", "y"],
        ["x", "y", "z"],
    ]


@pytest.mark.parametrize(("day", "phase"), [("2025-02-10", "current"), ("2025-02-11", "lapsed")])
def test_at_the_end_of_a_day_clocks_have_run_to_it(day, phase):
    found = history(shown("2025-01-10"), skills=one(valid_for="P1M"))

    assert found.at_end_of(date.fromisoformat(day), "ana").courses["s"].phase.value == phase


def test_holds_of_a_skill_are_its_own_and_those_of_all():
    records = [
        other("hold", "2025-01-12", through="2025-01-14", id="b"),
        other("hold", "2025-01-12", skill=None, through="2025-01-13", id="a"),
        other("hold", "2025-01-10", skill="t", through=None, id="c"),
    ]
    sweep = history(*records, skills=[skill("s"), skill("t")]).sweeps["ana"]

    assert [h.id for h in sweep.holds_of("s")] == ["a", "b"]
    assert [h.id for h in sweep.holds_of("t")] == ["c", "a"]
    assert [[h.id for h in sweep.holds_on("s", date(2025, 1, day))] for day in (11, 12, 13, 14, 15)] == [
        [],
        ["a", "b"],
        ["a", "b"],
        ["b"],
        [],
    ]
    assert [sweep.is_on_hold("s", date(2025, 1, day)) for day in (11, 12, 14, 15)] == [False, True, True, False]


# Places in line -------------------------------------------------------------------------------------------


def test_a_stay_comes_after_what_was_before_it():
    """It begins the day after the sign-off and renews it: the gate that was looked at in between takes a place of its own."""
    records = [shown("2025-01-09"), shown("2025-01-10"), shown("2025-01-12", id="x", began="2025-01-11")]
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M")

    assert became(*records, skills=made)[-1] == ("renewed",)
    assert spans(history(*records, skills=made))[-1] == ("lapsed", "2025-02-13", None)


def test_two_stays_and_a_lapse_between_them():
    made = one(valid_for="P5D", grace="P0D")
    records = [shown("2025-01-10", id="w", began="2025-01-09"), shown("2025-01-20", id="x", began="2025-01-19")]

    assert [judged(*records, id_=id_, skills=made).deeds for id_ in ("w", "x")] == [SIGNED, SIGNED]


def test_only_to_learn_does_not_hide_the_prerequisite_after_it():
    """u needs t; t needed s to learn, and needs w, which is on hold."""
    made = [
        skill("s"),
        skill("w"),
        skill("t", edition(requires=[{"skill": "s", "only_to_learn": True}, {"skill": "w"}])),
        skill("u", edition(requires=[{"skill": "t"}])),
    ]
    records = [*(shown("2025-01-08", code=c) for c in "sw"), shown("2025-01-09", code="t"), other("hold", "2025-01-10", skill="w", through=None), shown("2025-01-11", code="u", id="x")]  # fmt: skip

    assert judged(*records, skills=made).gate == ("t",)


def test_a_skill_without_an_edition_has_no_gate_and_nothing_that_holds_it():
    sweep = history(skills=[skill("s", edition(in_force_from="2025-03-01"))]).at_end_of(date(2025, 2, 1), "ana")

    assert (sweep.closed_gates("s", date(2025, 2, 1)), sweep.is_held(sweep.courses["s"], date(2025, 2, 1))) == (
        [],
        False,
    )


# Scored by what could be known ----------------------------------------------------------------------------


def test_each_attempt_has_the_steps_of_its_own_care_plan():
    """The second step is asked for under the air cuff alone: before it, under it, and after it."""
    steps = [{"code": "a"}, {"code": "b", "critical": True, "applies_when": {"cuff": ["air"]}}]
    plans = [plan(), plan("2025-01-11", FACTS | {"cuff": "air"}), plan("2025-01-12", FACTS)]
    records = [
        shown("2025-01-10", id="x"),
        shown("2025-01-11", id="y", results={"a": "independent", "b": "prompted"}),
        shown("2025-01-12", id="z"),
    ]
    found = history(*records, skills=[skill("s", edition(steps=steps))], care_plan=plans).sweeps["ana"].judged

    assert [found[id_].outcome.value for id_ in "xyz"] == ["passed", "critical", "passed"]


def test_each_attempt_has_the_steps_of_its_role_edition_and_skill():
    lead = [{"code": "a"}, {"code": "b", "critical": True, "roles": ["assist"]}]
    made = [skill("s", edition(steps=lead), edition(2, in_force_from="2025-01-12", steps=[{"code": "c"}])), skill("t")]
    records = [
        shown("2025-01-10", id="w"),
        shown("2025-01-11", id="x", role="assist", results={"a": "independent", "b": "prompted"}),
        shown("2025-01-12", id="y", edition=2, results={"c": "omitted"}),
        shown("2025-01-13", id="z", code="t"),
    ]
    found = history(*records, skills=made).sweeps["ana"].judged

    assert [found[id_].outcome.value for id_ in "wxyz"] == ["passed", "critical", "not_passed", "passed"]
