"""One course through time, sentence by sentence of design 4.2 to 4.5: what begins with a day, rechecks, waits, floors."""

from __future__ import annotations

import pytest

from tests.competency.build import edition, failed, history, other, plan, shown, skill, spans, standard, standing


def one(*, on_change=None, **std):
    return [skill("s", edition(standard=standard(**std), on_change=on_change or {}))]


def through(*records, code="s", **changes):
    """The standings from the first sign-off on, each with its first day."""
    return [f"{start[5:]} {what}" for what, start, _ in spans(history(*records, **changes), code)][1:]


def judged(id_, *records, **changes):
    return history(*records, **changes).sweeps["ana"].judged[id_]


SECOND = edition(2, in_force_from="2025-02-11", older_sign_offs="recheck")
AIR = {"cuff": "air", "suction": True, "tube_id_mm": 5.0}
NONE = {"cuff": "none", "suction": True, "tube_id_mm": 5.0}
SIGNED = ["caregiver", "educator"]


def signature(day, by="educator", **more):
    return other("signature", day, by=by, id=f"{by}-{day}", **more)


def both(day):
    return [signature(day, by) for by in SIGNED]


# What begins with a day comes before what is recorded on it -----------------------------------------------


@pytest.mark.parametrize(
    ("what", "records", "changes", "expected"),
    [
        ("nothing", [], {}, ["01-10 signed_off", "02-11 lapsed"]),
        ("a recheck", [other("recheck", "2025-02-11", reason="r")], {}, ["01-10 signed_off", "02-11 lapsed"]),
        ("a withdrawal", [other("withdrawal", "2025-02-12", reason="r", cover="c")], {}, ["01-10 signed_off", "02-11 lapsed", "02-12 withdrawn"]),
        ("a withdrawal that day", [other("withdrawal", "2025-02-11", reason="r", cover="c")], {}, ["01-10 signed_off", "02-11 withdrawn"]),
        ("an acceptance", [other("accepted", "2025-02-11", last_day=None, organisation="o")], {}, ["01-10 signed_off", "03-12 lapsed"]),
        ("an acceptance a day later", [other("accepted", "2025-02-12", last_day=None, organisation="o")], {}, ["01-10 signed_off", "02-11 lapsed", "02-12 signed_off", "03-13 lapsed"]),
        ("a pass", [shown("2025-02-11")], {}, ["01-10 signed_off", "03-12 lapsed"]),
        ("practice", [shown("2025-02-12", purpose="practice")], {}, ["01-10 signed_off", "02-11 lapsed"]),
        ("a failure", [failed("2025-02-11")], {}, ["01-10 signed_off", "02-11 lapsed"]),
        ("an edition", [], {"older": "recheck"}, ["01-10 signed_off", "02-11 lapsed"]),
        ("a care plan entry", [], {"care_plan": [plan(), plan("2025-02-11", AIR)]}, ["01-10 signed_off", "02-11 lapsed"]),
    ],
)  # fmt: skip
def test_a_lapse_comes_first(what, records, changes, expected):
    """Valid for a month from 10 January: 10 February is the last day."""
    first = edition(
        standard=standard(valid_for="P1M", grace="P0D", needs=[{"passes": 1}]), on_change={"cuff": "recheck"}
    )
    editions = [first, SECOND | {"standard": first["standard"]}] if changes.pop("older", None) else [first]

    assert through(shown("2025-01-10"), *records, skills=[skill("s", *editions)], **changes) == expected, what


@pytest.mark.parametrize(
    ("what", "record"),
    [
        ("a signature", signature("2025-01-21")),
        ("a recheck", other("recheck", "2025-01-21", reason="r")),
        ("practice", shown("2025-01-21", purpose="practice")),
        ("an incomplete attempt", shown("2025-01-21", results={"a": "not_seen"})),
    ],
)
def test_the_end_of_a_wait_comes_first(what, record):
    """Shown on 10 January, valid for ten days: the wait ends after 20 January and nothing signs it off any more."""
    records = [shown("2025-01-10"), signature("2025-01-19", "caregiver"), record]

    assert through(*records, skills=one(signatures=SIGNED, valid_for="P10D")) == [
        "01-10 awaiting",
        "01-21 in_training",
    ], what


@pytest.mark.parametrize(("signed_on", "expected"), [("2025-01-20", ["01-10 awaiting", "01-20 signed_off", "01-21 lapsed"]), ("2025-01-21", ["01-10 awaiting", "01-21 in_training"])])  # fmt: skip
def test_the_last_day_of_a_wait_and_the_day_after(signed_on, expected):
    records = [shown("2025-01-10"), *both(signed_on)]

    assert through(*records, skills=one(signatures=SIGNED, valid_for="P10D")) == expected


def test_a_wait_without_a_last_day_never_ends():
    assert through(shown("2025-01-10"), *both("2035-01-10"), skills=one(signatures=SIGNED))[-1] == "01-10 signed_off"


def test_what_was_waited_for_counts_no_further_once_the_wait_has_ended():
    """Ending moves all floors: two more are asked for, and the second of them starts another wait."""
    two = one(needs=[{"passes": 2}], signatures=["educator"], valid_for="P10D")
    records = [shown("2025-01-09"), shown("2025-01-10"), shown("2025-01-25")]

    assert through(*records, skills=two) == ["01-09 in_training", "01-10 awaiting", "01-21 in_training"]
    assert through(*records, shown("2025-01-26"), skills=two)[-2:] == ["01-26 awaiting", "02-06 in_training"]


def test_passes_while_awaiting_are_not_tallied():
    """They complete nothing after the wait has ended either, but close a recheck."""
    two = one(needs=[{"passes": 2}], signatures=["educator"], valid_for="P10D")
    records = [shown("2025-01-09"), shown("2025-01-10"), shown("2025-01-15"), shown("2025-01-25")]

    assert through(*records, skills=two)[-1] == "01-21 in_training"


# Waits ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "std", "record", "expected"),
    [
        ("a critical attempt ends it", {}, failed("2025-01-12"), ["01-10 awaiting", "01-12 in_training"]),
        ("whatever after_failure says", {"after_failure": "keep"}, failed("2025-01-12"), ["01-10 awaiting", "01-12 in_training"]),
        ("a not-passed one with restart", {}, shown("2025-01-12", results={"a": "independent", "b": "omitted"}), ["01-10 awaiting", "01-12 in_training"]),
        ("but not with keep", {"after_failure": "keep"}, shown("2025-01-12", results={"a": "independent", "b": "omitted"}), ["01-10 awaiting", "01-15 signed_off"]),
        ("one that no need looks at does not", {"needs": [{"setting": ["patient"]}]}, failed("2025-01-12", setting="model"), ["01-10 awaiting", "01-15 signed_off"]),
        ("an incomplete one does not", {}, shown("2025-01-12", results={"a": "not_seen", "b": "independent"}), ["01-10 awaiting", "01-15 signed_off"]),
        ("nor does practice", {}, failed("2025-01-12", purpose="practice"), ["01-10 awaiting", "01-15 signed_off"]),
    ],
)  # fmt: skip
def test_what_ends_a_wait(sentence, std, record, expected):
    steps = [{"code": "a", "critical": True}, {"code": "b"}]
    alone = {"a": "independent", "b": "independent"}
    if set(record["results"]) == {"a"}:
        record = record | {"results": {"b": "independent"} | record["results"]}
    made = [skill("s", edition(steps=steps, standard=standard(signatures=["educator"]) | std))]

    assert through(shown("2025-01-10", results=alone), record, signature("2025-01-15"), skills=made) == expected, (
        sentence
    )


def test_the_attempt_that_ended_a_wait_says_so_and_opens_no_recheck():
    records = [shown("2025-01-10"), failed("2025-01-12", id="x")]

    assert judged("x", *records, skills=one(signatures=["educator"])).deeds == ("wait_ended",)


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        ([], ["01-10 awaiting"]),
        (["01-09"], ["01-10 awaiting"]),
        (["01-10"], ["01-10 signed_off"]),
        (["01-12"], ["01-10 awaiting", "01-12 signed_off"]),
    ],
)
def test_a_signature_counts_from_the_day_of_the_completing_pass(days, expected):
    records = [shown("2025-01-10"), *(signature(f"2025-{day}") for day in days)]

    assert through(*records, skills=one(signatures=["educator"])) == expected


def test_a_signature_that_nobody_asked_for_is_no_harm():
    records = [shown("2025-01-10"), signature("2025-01-11", "caregiver"), signature("2025-01-12")]

    assert through(*records, skills=one(signatures=["educator"])) == ["01-10 awaiting", "01-12 signed_off"]


def test_an_awaiting_skill_keeps_the_standard_under_which_the_needs_held():
    """The edition of 15 January asks for no signature; this wait still does."""
    later = edition(2, in_force_from="2025-01-15")
    made = [skill("s", edition(standard=standard(signatures=["educator"], valid_for="P30D")), later)]

    assert through(shown("2025-01-10"), skills=made) == ["01-10 awaiting", "02-10 in_training"]
    assert through(shown("2025-01-10"), signature("2025-01-20"), skills=made)[1:] == [
        "01-20 signed_off",
        "02-10 lapsed",
    ]


# Rechecks -------------------------------------------------------------------------------------------------

CALL = other("recheck", "2025-01-20", reason="r", id="rc")


@pytest.mark.parametrize(
    ("sentence", "std", "records", "expected"),
    [
        ("one pass after it closes it", {}, [shown("2025-01-21")], ["01-10 signed_off", "01-20 held", "01-21 signed_off"]),
        ("one before it does not", {}, [shown("2025-01-19")], ["01-10 signed_off", "01-20 held"]),
        ("renewal asks for two", {"renewal": [{"passes": 2}]}, [shown("2025-01-19"), shown("2025-01-21")], ["01-10 signed_off", "01-20 held"]),
        ("and has them", {"renewal": [{"passes": 2}]}, [shown("2025-01-21"), shown("2025-01-22")], ["01-10 signed_off", "01-20 held", "01-22 signed_off"]),
        ("an acceptance closes it", {}, [other("accepted", "2025-01-21", last_day=None, organisation="o")], ["01-10 signed_off", "01-20 held", "01-21 signed_off"]),
        ("a withdrawal does not", {}, [other("withdrawal", "2025-01-21", reason="r", cover="c")], ["01-10 signed_off", "01-20 held", "01-21 withdrawn"]),
        ("a pass that no renewal need looks at does not", {"renewal": [{"setting": ["patient"]}]}, [shown("2025-01-21", setting="model")], ["01-10 signed_off", "01-20 held"]),
    ],
)  # fmt: skip
def test_what_closes_a_recheck(sentence, std, records, expected):
    assert through(shown("2025-01-10"), CALL, *records, skills=one(**std)) == expected, sentence


def test_a_recheck_that_was_open_before_is_closed_by_the_full_sign_off():
    """Its needs hold on passes after the opening alone."""
    assert through(other("recheck", "2025-01-05", reason="r"), shown("2025-01-10")) == ["01-10 signed_off"]


def test_and_stays_open_where_the_needs_also_took_a_pass_before_it():
    two = one(needs=[{"passes": 2}], renewal=[{"passes": 2}])
    records = [
        shown("2025-01-09"),
        other("recheck", "2025-01-10", reason="r", time="08:00"),
        shown("2025-01-10"),
        shown("2025-01-12"),
    ]

    assert through(*records, skills=two) == ["01-09 in_training", "01-10 held", "01-12 signed_off"]


def test_closing_a_recheck_renews_what_is_current():
    records = [shown("2025-01-10"), CALL, shown("2025-01-21", id="x")]

    assert through(*records, skills=one(valid_for="P1M"))[-2:] == ["01-21 signed_off", "02-22 lapsed"]
    assert judged("x", *records).deeds == ("closed_recheck", "renewed")


@pytest.mark.parametrize(("day", "last"), [("2025-02-20", "02-20 signed_off"), ("2025-02-21", "02-11 lapsed")])
def test_closing_a_recheck_renews_what_is_in_grace(day, last):
    """Last day 10 February, grace through 20 February; two are asked for in full."""
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M", grace="P10D")
    records = [shown("2025-01-09"), shown("2025-01-10"), CALL, shown(day)]

    assert next(w for w in reversed(through(*records, skills=made)) if not w.startswith("03")) == last


def test_a_recheck_of_all_skills_opens_on_each():
    made = [skill("s"), skill("t")]
    records = [shown("2025-01-10"), shown("2025-01-10", code="t"), CALL | {"skill": None}]

    assert [standing(history(*records, skills=made), "2025-01-20", code) for code in ("s", "t")] == ["held", "held"]


@pytest.mark.parametrize(
    ("sentence", "records", "expected"),
    [
        ("once ever signed off", [failed("2025-01-09"), shown("2025-01-10")], ["01-09 in_training", "01-10 signed_off"]),
        ("looked at by a need", [shown("2025-01-10"), failed("2025-01-15")], ["01-10 signed_off", "01-15 held"]),
        ("not a not-passed one", [shown("2025-01-10"), shown("2025-01-15", results={"a": "independent", "b": "omitted"})], ["01-10 signed_off"]),
        ("not one no need looks at", [shown("2025-01-10"), failed("2025-01-15", mode="remote")], ["01-10 signed_off"]),
        ("looked at by the renewal alone", [shown("2025-01-10"), failed("2025-01-15", setting="model")], ["01-10 signed_off", "01-15 held"]),
    ],
)  # fmt: skip
def test_a_critical_assessment_opens_a_recheck(sentence, records, expected):
    steps = [{"code": "a", "critical": True}, {"code": "b"}]
    std = standard(needs=[{"setting": ["patient"], "mode": ["in_person"]}], renewal=[{"setting": ["model", "patient"]}])
    records = [r | {"results": {"b": "independent"} | r["results"]} for r in records]

    assert through(*records, skills=[skill("s", edition(steps=steps, standard=std))]) == expected, sentence


def test_a_recheck_opens_on_what_was_withdrawn_or_lapsed():
    """A skill once signed off: a critical attempt while withdrawn opens one, which the new full sign-off closes."""
    records = [shown("2025-01-10"), other("withdrawal", "2025-01-12", reason="r", cover="c"), failed("2025-01-15", id="x"), shown("2025-01-20", id="y")]  # fmt: skip

    assert (judged("x", *records).deeds, judged("y", *records).deeds) == (
        ("opened_recheck",),
        ("closed_recheck", "signed_off"),
    )
    assert through(*records)[-1] == "01-20 signed_off"


# A fact that changes --------------------------------------------------------------------------------------


def changing(*days):
    """The cuff goes from none to air and back, day by day."""
    return [plan(), *(plan(f"2025-{day}", (AIR, NONE)[n % 2]) for n, day in enumerate(days))]


@pytest.mark.parametrize(
    ("sentence", "effect", "days", "records", "expected"),
    [
        ("recheck opens at once", "recheck", ["01-20"], [], ["01-10 signed_off", "01-20 held"]),
        ("it closes when the fact returns", "recheck", ["01-20", "01-25"], [], ["01-10 signed_off", "01-20 held", "01-25 signed_off"]),
        ("by opens the day after", {"recheck_by": "P7D"}, ["01-20"], [], ["01-10 signed_off", "01-28 held"]),
        ("by none opens the day after the entry", {"recheck_by": "P0D"}, ["01-20"], [], ["01-10 signed_off", "01-21 held"]),
        ("it is called off when the fact returns", {"recheck_by": "P7D"}, ["01-20", "01-27"], [], ["01-10 signed_off"]),
        ("it closes when the fact returns later", {"recheck_by": "P7D"}, ["01-20", "01-30"], [], ["01-10 signed_off", "01-28 held", "01-30 signed_off"]),
        ("unless what would close it has happened", {"recheck_by": "P7D"}, ["01-20"], [shown("2025-01-27")], ["01-10 signed_off"]),
        ("since the entry", {"recheck_by": "P7D"}, ["01-20"], [shown("2025-01-19")], ["01-10 signed_off", "01-28 held"]),
        ("and not a day late", {"recheck_by": "P7D"}, ["01-20"], [shown("2025-01-28")], ["01-10 signed_off"]),
        ("nor two", {"recheck_by": "P7D"}, ["01-20"], [shown("2025-01-29")], ["01-10 signed_off", "01-28 held", "01-29 signed_off"]),
        ("it was shown again under the new fact: returning is a change", "recheck", ["01-20", "01-25"], [shown("2025-01-22")], ["01-10 signed_off", "01-20 held", "01-22 signed_off", "01-25 held"]),
        ("another fact opens nothing", "recheck", [], [], ["01-10 signed_off"]),
        ("restart opens at once", "restart", ["01-20"], [], ["01-10 signed_off", "01-20 held"]),
        ("and one pass closes it", "restart", ["01-20"], [shown("2025-01-21")], ["01-10 signed_off", "01-20 held", "01-21 signed_off"]),
    ],
)  # fmt: skip
def test_a_fact_that_changes(sentence, effect, days, records, expected):
    made = one(on_change={"cuff": effect})

    assert through(shown("2025-01-10"), *records, skills=made, care_plan=changing(*days)) == expected, sentence


def test_restart_moves_the_floors():
    """Earlier passes count no further: two are asked for again."""
    made = one(needs=[{"passes": 2}], on_change={"cuff": "restart"})
    kept = one(needs=[{"passes": 2}], on_change={"cuff": "recheck"})
    records = [shown("2025-01-10"), shown("2025-01-21")]

    assert through(*records, skills=made, care_plan=changing("01-20")) == ["01-10 in_training"]
    assert through(*records, shown("2025-01-22"), skills=made, care_plan=changing("01-20"))[-1] == "01-22 signed_off"
    assert through(*records, skills=kept, care_plan=changing("01-20"))[-1] == "01-21 signed_off"


def test_restart_ends_a_wait():
    made = one(signatures=["educator"], on_change={"cuff": "restart"})

    assert through(shown("2025-01-10"), signature("2025-01-25"), skills=made, care_plan=changing("01-20")) == [
        "01-10 awaiting",
        "01-20 in_training",
    ]


def test_recheck_does_not_end_a_wait():
    made = one(signatures=["educator"], on_change={"cuff": "recheck"})

    assert through(shown("2025-01-10"), signature("2025-01-25"), skills=made, care_plan=changing("01-20")) == [
        "01-10 awaiting",
        "01-25 held",
    ]


def test_restart_counts_for_rechecks_that_are_open_already():
    """A recheck of 12 January asks for two; the first pass was before the restart and counts no further."""
    made = one(renewal=[{"passes": 2}], on_change={"cuff": "restart"})
    records = [
        shown("2025-01-10"),
        other("recheck", "2025-01-12", reason="r"),
        shown("2025-01-15"),
        shown("2025-01-21"),
    ]

    assert through(*records, skills=made, care_plan=changing("01-20"))[-1] == "01-12 held"
    assert through(*records, shown("2025-01-22"), skills=made, care_plan=changing("01-20"))[-1] == "01-22 signed_off"


@pytest.mark.parametrize(
    ("facts", "expected"),
    [
        ([{"suction": True}, {"cuff": "none"}], ["01-10 signed_off"]),
        ([{"suction": True}, {"cuff": "air"}], ["01-10 signed_off", "01-25 held"]),
        ([{"cuff": "none", "oxygen": True}], ["01-10 signed_off"]),
    ],
    ids=["unstated, then as before", "unstated, then another", "known for the first time"],
)
def test_a_fact_is_compared_with_its_last_stated_value(facts, expected):
    plans = [plan(), *(plan(f"2025-01-2{n * 5}", stated) for n, stated in enumerate(facts))]

    assert (
        through(shown("2025-01-10"), skills=one(on_change={"cuff": "recheck", "oxygen": "recheck"}), care_plan=plans)
        == expected
    )


# Required, not, and again ---------------------------------------------------------------------------------


def test_what_was_required_then_not_then_is_again_opens_a_recheck():
    made = [skill("s", edition(applies_when={"cuff": ["none"]}))]

    assert through(shown("2025-01-10"), skills=made, care_plan=changing("01-20", "01-25")) == [
        "01-10 signed_off",
        "01-20 not_required",
        "01-25 held",
    ]


def test_what_is_required_for_the_first_time_does_not():
    made = [skill("s", edition(applies_when={"cuff": ["air"]}))]

    assert through(shown("2025-01-10"), skills=made, care_plan=changing("01-20")) == ["01-20 signed_off"]


def test_nor_what_was_required_before_there_was_a_care_plan():
    """Until the first entry nothing is known, and unknown never means "not needed"."""
    made = [skill("s", edition(applies_when={"cuff": ["air"]}))]
    plans = [plan("2025-01-05"), plan("2025-01-20", AIR)]

    assert through(shown("2025-01-10"), skills=made, care_plan=plans) == ["01-20 signed_off"]


# Acceptances and cards ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "std", "last_day", "lapses"),
    [
        ("its own last day is the earlier", {"valid_for": "P3M"}, "2025-02-10", "02-11 lapsed"),
        ("the last day a renewal would give is", {"valid_for": "P1M"}, "2025-03-10", "02-11 lapsed"),
        ("both the same", {"valid_for": "P1M"}, "2025-02-10", "02-11 lapsed"),
        ("it has none, a renewal would", {"valid_for": "P1M"}, None, "02-11 lapsed"),
        ("only it has one", {}, "2025-02-10", "02-11 lapsed"),
        ("neither has one", {}, None, None),
        ("a first interval is not a renewal's", {"valid_for": "P1M", "first_valid_for": "P1Y"}, None, "02-11 lapsed"),
        ("to the month's end", {"valid_for": "P1M", "valid_to": "month_end"}, None, "03-01 lapsed"),
    ],
)
def test_an_acceptance_holds_through_the_earlier_day(sentence, std, last_day, lapses):
    record = other("accepted", "2025-01-10", last_day=last_day, organisation="o")

    assert through(record, skills=one(**std)) == ["01-10 signed_off", *([lapses] if lapses else [])], sentence


@pytest.mark.parametrize(("day", "expected"), [("2025-03-10", "signed_off"), ("2025-03-11", "lapsed")])
def test_grace_after_an_acceptance_runs_from_its_last_day(day, expected):
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M", grace="P28D")
    records = [other("accepted", "2025-01-10", last_day=None, organisation="o"), shown(day)]

    assert standing(history(*records, skills=made), day) == expected


def test_an_acceptance_moves_the_floors_and_is_renewed_like_any_sign_off():
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M", grace="P0D")
    records = [shown("2025-01-09"), other("accepted", "2025-01-10", last_day=None, organisation="o")]

    assert through(*records, shown("2025-02-11"), skills=made)[-1] == "02-11 lapsed"
    assert through(*records, shown("2025-02-10"), skills=made)[-1] == "03-11 lapsed"


def test_an_acceptance_before_there_is_an_edition():
    made = [skill("s", edition(in_force_from="2025-02-01", standard=standard(valid_for="P1M")))]
    record = other("accepted", "2025-01-10", last_day="2025-03-10", organisation="o")

    assert spans(history(record, skills=made))[1:] == [
        ("signed_off", "2025-02-01", "2025-03-10"),
        ("lapsed", "2025-03-11", None),
    ]


def test_an_acceptance_is_shown_under_the_facts_of_its_day():
    """The fact returns to what it was then: nothing opens."""
    made = one(on_change={"cuff": "recheck"})
    record = other("accepted", "2025-01-10", last_day=None, organisation="o")

    assert through(record, skills=made, care_plan=changing("01-20", "01-25")) == [
        "01-10 signed_off",
        "01-20 held",
        "01-25 signed_off",
    ]


@pytest.mark.parametrize(
    ("sentence", "cards", "expected"),
    [
        ("through its own last day", [("2025-01-10", "2025-01-20")], ["01-10 signed_off", "01-21 lapsed"]),
        ("without one", [("2025-01-10", None)], ["01-10 signed_off"]),
        ("a later one that ends earlier takes nothing away", [("2025-01-10", "2025-01-20"), ("2025-01-12", "2025-01-15")], ["01-10 signed_off", "01-21 lapsed"]),
        ("a later one that ends later", [("2025-01-10", "2025-01-20"), ("2025-01-12", "2025-01-25")], ["01-10 signed_off", "01-26 lapsed"]),
        ("one without an end, then one with", [("2025-01-10", None), ("2025-01-12", "2025-01-25")], ["01-10 signed_off"]),
        ("one with an end, then one without", [("2025-01-10", "2025-01-20"), ("2025-01-12", None)], ["01-10 signed_off"]),
        ("a new one after it had lapsed", [("2025-01-10", "2025-01-20"), ("2025-02-01", "2025-02-10")], ["01-10 signed_off", "01-21 lapsed", "02-01 signed_off", "02-11 lapsed"]),
        ("the day after the last day", [("2025-01-10", "2025-01-20"), ("2025-01-21", "2025-01-25")], ["01-10 signed_off", "01-26 lapsed"]),
    ],
)  # fmt: skip
def test_a_card(sentence, cards, expected):
    made = [skill("s", edition(standard={"evidence": "certificate"}, steps=[]))]
    records = [other("certificate", day, through=last, id=f"c{n}") for n, (day, last) in enumerate(cards)]

    assert through(*records, skills=made) == expected, sentence


def test_a_newer_card_closes_a_recheck_and_ends_a_withdrawal():
    made = [skill("s", edition(standard={"evidence": "certificate"}, steps=[]))]
    cards = [other("certificate", f"2025-01-{day}", through=None, id=f"c{day}") for day in (10, 20, 30)]
    away = other("withdrawal", "2025-01-25", reason="r", cover="c")

    assert through(*cards, other("recheck", "2025-01-15", reason="r"), away, skills=made) == [
        "01-10 signed_off",
        "01-15 held",
        "01-20 signed_off",
        "01-25 withdrawn",
        "01-30 signed_off",
    ]


# Renewal and validity -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "std", "days", "expected"),
    [
        ("each renewal counts from its own day", {"valid_for": "P1M"}, ["01-31", "02-28"], ["01-31 signed_off", "03-29 lapsed"]),
        ("first_valid_for after a full sign-off", {"valid_for": "P1Y", "first_valid_for": "P1M"}, ["01-10"], ["01-10 signed_off", "02-11 lapsed"]),
        ("valid_for after a renewal", {"valid_for": "P2M", "first_valid_for": "P1M"}, ["01-10", "02-10"], ["01-10 signed_off", "04-11 lapsed"]),
        ("never earlier than it was", {"valid_for": "P1M", "first_valid_for": "P3M"}, ["01-10", "01-20"], ["01-10 signed_off", "04-11 lapsed"]),
        ("to the end of the month", {"valid_for": "P1M", "valid_to": "month_end"}, ["01-31"], ["01-31 signed_off", "03-01 lapsed"]),
        ("a renewal to the end of the month", {"valid_for": "P1M", "valid_to": "month_end"}, ["01-10", "02-05"], ["01-10 signed_off", "04-01 lapsed"]),
        ("a pass beyond grace completes it anew", {"valid_for": "P1M", "first_valid_for": "P2M", "grace": "P0D"}, ["01-10", "03-20"], ["01-10 signed_off", "03-11 lapsed", "03-20 signed_off", "05-21 lapsed"]),
        ("no grace", {"valid_for": "P1M", "grace": "P0D"}, ["01-10", "02-11"], ["01-10 signed_off", "03-12 lapsed"]),
    ],
)  # fmt: skip
def test_the_last_day(sentence, std, days, expected):
    assert through(*(shown(f"2025-{day}") for day in days), skills=one(**std)) == expected, sentence


def test_passes_that_renewed_are_used_up():
    """Two are asked for to renew: the third and fourth do, the fifth alone does not."""
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 2}], valid_for="P1M")
    days = ["01-09", "01-10", "01-15", "01-20", "01-25"]
    ids = {f"d-s-2025-{day}-10:00" for day in days}
    found = history(*(shown(f"2025-{day}") for day in days), skills=made).sweeps["ana"].judged

    assert [found[id_].deeds for id_ in sorted(ids)] == [(), ("signed_off",), (), ("renewed",), ()]


def test_a_not_passed_attempt_between_two_renewal_passes_starts_them_again():
    made = one(needs=[{"passes": 1}], renewal=[{"passes": 2}], valid_for="P1M")
    keep = one(needs=[{"passes": 1}], renewal=[{"passes": 2}], valid_for="P1M", after_failure="keep")
    no = failed("2025-01-17")
    records = [shown("2025-01-10"), shown("2025-01-15"), no, shown("2025-01-20", id="x")]

    assert (judged("x", *records, skills=made).deeds, judged("x", *records, skills=keep).deeds) == ((), ("renewed",))


def test_passes_after_the_last_day_are_tallied_for_a_full_sign_off_from_the_start():
    """Passes made while current complete nothing after the lapse."""
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 5}], valid_for="P1M", grace="P0D")
    records = [shown("2025-01-09"), shown("2025-01-10"), shown("2025-02-09"), shown("2025-02-12")]

    assert through(*records, skills=made)[-1] == "02-11 lapsed"
    assert through(*records, shown("2025-02-13"), skills=made)[-2:] == ["02-13 signed_off", "03-14 lapsed"]


def test_a_full_sign_off_may_come_before_the_renewal():
    made = one(needs=[{"passes": 1}], renewal=[{"passes": 2}], valid_for="P1M", first_valid_for="P2M", grace="P1M")
    records = [shown("2025-01-10"), shown("2025-03-15", id="x")]

    assert judged("x", *records, skills=made).deeds == ("signed_off",)


def test_renewal_is_tried_before_a_full_sign_off():
    made = one(valid_for="P1M", first_valid_for="P2M", grace="P1M")
    records = [shown("2025-01-10"), shown("2025-03-15", id="x")]

    assert judged("x", *records, skills=made).deeds == ("renewed",)


# Editions -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "older", "records", "expected"),
    [
        ("recheck opens on its first day", "recheck", [], ["01-10 signed_off", "01-20 held"]),
        ("one pass on the new edition closes it", "recheck", [shown("2025-01-21", edition=2)], ["01-10 signed_off", "01-20 held", "01-21 signed_off"]),
        ("one on the old edition does not", "recheck", [shown("2025-01-21")], ["01-10 signed_off", "01-20 held"]),
        ("by opens the day after", {"recheck_by": "2025-01-31"}, [], ["01-10 signed_off", "02-01 held"]),
        ("on this edition by then", {"recheck_by": "2025-01-31"}, [shown("2025-01-31", edition=2)], ["01-10 signed_off"]),
        ("not on the older one", {"recheck_by": "2025-01-31"}, [shown("2025-01-31")], ["01-10 signed_off", "02-01 held"]),
        ("the day after closes it", {"recheck_by": "2025-01-31"}, [shown("2025-02-02", edition=2)], ["01-10 signed_off", "02-01 held", "02-02 signed_off"]),
        ("stand", "stand", [], ["01-10 signed_off"]),
    ],
)  # fmt: skip
def test_an_edition_and_older_sign_offs(sentence, older, records, expected):
    later = edition(2, in_force_from="2025-01-20", older_sign_offs=older)

    assert through(shown("2025-01-10"), *records, skills=[skill("s", edition(), later)]) == expected, sentence


@pytest.mark.parametrize(
    ("older", "day", "counts"),
    [
        ("stand", "2025-03-01", True),
        ("recheck", "2025-01-20", False),
        ({"recheck_by": "2025-01-31"}, "2025-01-31", True),
        ({"recheck_by": "2025-01-31"}, "2025-02-01", False),
    ],
)
def test_how_long_an_attempt_on_an_older_edition_counts(older, day, counts):
    later = edition(2, in_force_from="2025-01-20", older_sign_offs=older)
    found = judged("x", shown(day, id="x"), skills=[skill("s", edition(), later)])

    assert (found.counts, found.kept_out) == (counts, () if counts else ("edition",))


def test_a_new_edition_alone_completes_nothing():
    """One pass was made where two were asked for; the new edition asks for one, and the next attempt is tried by it."""
    made = [skill("s", edition(standard=standard(needs=[{"passes": 2}])), edition(2, in_force_from="2025-01-20"))]

    assert through(shown("2025-01-10"), skills=made) == ["01-10 in_training"]
    assert through(shown("2025-01-10"), shown("2025-01-25"), skills=made) == ["01-10 in_training", "01-25 signed_off"]


# Where two readings of a date meet ------------------------------------------------------------------------


@pytest.mark.parametrize(("day", "expected"), [("2025-03-31", "signed_off"), ("2025-04-01", "lapsed")])
def test_a_renewal_that_gives_the_same_last_day_is_the_one_grace_is_counted_from(day, expected):
    """A month from 28 January and from 31 January is 28 February; the renewal of the 31st is the original date now."""
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M", grace="P1M")
    records = [shown("2025-01-27"), shown("2025-01-28"), shown("2025-01-31"), shown(day)]

    assert standing(history(*records, skills=made), day) == expected


@pytest.mark.parametrize(("day", "expected"), [("2025-03-28", "signed_off"), ("2025-03-29", "lapsed")])
def test_an_acceptance_whose_own_last_day_is_that_of_a_renewal_too_has_grace_from_its_own(day, expected):
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M", grace="P1M")
    records = [other("accepted", "2025-01-31", last_day="2025-02-28", organisation="o"), shown(day)]

    assert standing(history(*records, skills=made), day) == expected


# What only a pass that is looked at may do ----------------------------------------------------------------


def eased(**earlier):
    """The edition of 20 January asks for one pass where two were asked for, all on the patient."""
    patient = {"setting": ["patient"]}
    first = {"needs": [{"passes": 1} | patient], "renewal": [{"passes": 1} | patient]} | {
        k: [{"passes": 2} | patient] for k in earlier
    }
    later = {"needs": [{"passes": 1} | patient], "renewal": [{"passes": 1} | patient]}
    return [
        skill(
            "s", edition(standard=standard(**first)), edition(2, in_force_from="2025-01-20", standard=standard(**later))
        )
    ]


def test_a_pass_that_no_need_looks_at_completes_no_sign_off():
    made = eased(needs=2)
    records = [shown("2025-01-10"), shown("2025-01-21", setting="model", edition=2)]

    assert through(*records, skills=made) == ["01-10 in_training"]
    assert through(*records, shown("2025-01-22", edition=2), skills=made) == ["01-10 in_training", "01-22 signed_off"]


def test_a_pass_that_no_need_looks_at_closes_no_recheck():
    made = eased(renewal=2)
    records = [
        shown("2025-01-10"),
        other("recheck", "2025-01-12", reason="r"),
        shown("2025-01-15"),
        shown("2025-01-21", setting="model", edition=2),
    ]

    assert through(*records, skills=made) == ["01-10 signed_off", "01-12 held"]
    assert through(*records, shown("2025-01-22", edition=2), skills=made)[-1] == "01-22 signed_off"


def test_a_pass_behind_a_closed_gate_is_no_part_of_a_full_sign_off():
    made = [skill("s", edition(requires=[{"skill": "t"}], standard=standard(needs=[{"passes": 2}]))), skill("t")]
    records = [shown("2025-01-10"), shown("2025-01-11", code="t"), shown("2025-01-12")]

    assert through(*records, skills=made) == ["01-10 in_training"]
    assert through(*records, shown("2025-01-13"), skills=made) == ["01-10 in_training", "01-13 signed_off"]


def test_nor_of_what_closes_a_recheck_with_a_full_sign_off():
    """Renewal asks for three; of the two that complete the sign-off one was before the recheck."""
    std = standard(needs=[{"passes": 2}], renewal=[{"passes": 3}])
    made = [skill("s", edition(requires=[{"skill": "t"}], standard=std)), skill("t")]
    records = [
        shown("2025-01-09", code="t"),
        shown("2025-01-10"),
        other("recheck", "2025-01-11", reason="r"),
        other("hold", "2025-01-12", skill="t", through="2025-01-12"),
        shown("2025-01-12"),
        shown("2025-01-13"),
    ]

    assert through(*records, skills=made) == ["01-10 in_training", "01-13 held"]


@pytest.mark.parametrize(
    ("older", "number", "expected"),
    [
        ({"recheck_by": "2025-01-31"}, 1, ["01-25 signed_off", "02-01 held"]),
        ({"recheck_by": "2025-01-31"}, 2, ["01-25 signed_off"]),
    ],
)
def test_a_full_sign_off_calls_off_what_is_due_by_its_own_edition_alone(older, number, expected):
    std = standard(needs=[{"passes": 1}], renewal=[{"passes": 2}])
    made = [
        skill("s", edition(standard=std), edition(2, in_force_from="2025-01-20", older_sign_offs=older, standard=std))
    ]

    assert through(shown("2025-01-25", edition=number), skills=made) == expected


def test_a_full_sign_off_calls_off_what_is_due_by_a_fact_only_on_passes_since():
    std = standard(needs=[{"passes": 2}], renewal=[{"passes": 3}])
    made = [skill("s", edition(on_change={"cuff": {"recheck_by": "P10D"}}, standard=std))]
    first, second, third = shown("2025-01-10"), shown("2025-01-21"), shown("2025-01-22")

    assert through(first, second, skills=made, care_plan=changing("01-20"))[1:] == ["01-21 signed_off", "01-31 held"]
    assert through(second, third, skills=made, care_plan=changing("01-20"))[1:] == ["01-22 signed_off"]


def test_a_full_sign_off_closes_a_recheck_that_its_renewal_would_not():
    made = one(needs=[{"passes": 1}], renewal=[{"passes": 2}])

    assert through(other("recheck", "2025-01-05", reason="r"), shown("2025-01-10"), skills=made) == ["01-10 signed_off"]


def test_a_full_sign_off_that_waits_closes_a_recheck_when_it_is_signed():
    made = one(needs=[{"passes": 1}], renewal=[{"passes": 2}], signatures=["educator"])
    records = [other("recheck", "2025-01-05", reason="r"), shown("2025-01-10")]

    assert through(*records, signature("2025-01-12"), skills=made) == ["01-10 awaiting", "01-12 signed_off"]


def test_closing_a_recheck_renews_although_a_renewal_alone_would_not():
    """The recheck was opened before the pass that completed the sign-off: that pass counts for it, and is used up else."""
    made = one(needs=[{"passes": 2}], renewal=[{"passes": 2}], valid_for="P1M")
    records = [
        shown("2025-01-09"),
        other("recheck", "2025-01-10", reason="r", time="08:00"),
        shown("2025-01-10"),
        shown("2025-01-12", id="x"),
    ]

    assert judged("x", *records, skills=made).deeds == ("closed_recheck", "renewed")
    assert through(*records, skills=made)[-1] == "02-13 lapsed"


# The latest completing or renewing pass -------------------------------------------------------------------


def test_a_fact_returns_to_what_it_was_at_the_latest_renewal():
    """Renewed under the air cuff on 22 January: what opens on the 25th closes when the cuff is air again."""
    found = through(
        shown("2025-01-10"),
        shown("2025-01-22"),
        skills=one(on_change={"cuff": "recheck"}),
        care_plan=changing("01-20", "01-25", "01-28"),
    )

    assert found == ["01-10 signed_off", "01-20 held", "01-22 signed_off", "01-25 held", "01-28 signed_off"]


def test_a_card_is_shown_under_the_facts_of_its_day():
    made = [skill("s", edition(standard={"evidence": "certificate"}, steps=[], on_change={"cuff": "recheck"}))]

    assert through(
        other("certificate", "2025-01-10", through=None), skills=made, care_plan=changing("01-20", "01-25")
    ) == [
        "01-10 signed_off",
        "01-20 held",
        "01-25 signed_off",
    ]


LATELY = [{"skill": "t", "within": "P10D"}]


@pytest.mark.parametrize(("day", "opens"), [("2025-01-20", True), ("2025-01-21", False)])
@pytest.mark.parametrize(
    ("kind", "fields"),
    [("certificate", {"through": None}), ("accepted", {"last_day": None, "organisation": "o"}), ("demonstration", {})],
)
def test_a_prerequisite_within_a_period_of_its_latest_date(kind, fields, day, opens):
    """A certificate's or an acceptance's date; a completing pass's."""
    card = {"standard": {"evidence": "certificate"}, "steps": []} if kind == "certificate" else {}
    made = [skill("s", edition(requires=LATELY)), skill("t", edition(**card))]
    record = (
        shown("2025-01-10", code="t") if kind == "demonstration" else other(kind, "2025-01-10", skill="t", **fields)
    )

    assert (standing(history(record, shown(day), skills=made), day) == "signed_off") is opens


def test_a_renewal_of_the_prerequisite_opens_the_gate_again_and_what_was_reached_stays():
    made = [skill("s", edition(requires=LATELY, standard=standard(needs=[{"passes": 2}]))), skill("t")]
    records = [
        shown("2025-01-10", code="t"),
        shown("2025-01-15"),
        shown("2025-01-21", id="late"),
        shown("2025-01-25", code="t"),
        shown("2025-01-26"),
    ]

    assert judged("late", *records, skills=made).kept_out == ("gate",)
    assert through(*records, skills=made) == ["01-15 in_training", "01-26 signed_off"]


@pytest.mark.parametrize(("kind", "fields"), [("accepted", {"last_day": None, "organisation": "o"})])
def test_a_critical_attempt_after_an_acceptance_opens_a_recheck(kind, fields):
    assert through(other(kind, "2025-01-10", **fields), failed("2025-01-15")) == ["01-10 signed_off", "01-15 held"]


def test_a_critical_attempt_after_an_ended_wait_opens_none():
    """It was never signed off."""
    records = [shown("2025-01-10"), failed("2025-01-12"), failed("2025-01-13", id="x")]

    assert judged("x", *records, skills=one(signatures=["educator"])).deeds == ()


def test_nor_of_what_calls_off_a_recheck_that_is_due():
    std = standard(needs=[{"passes": 2}], renewal=[{"passes": 3}])
    made = [
        skill("s", edition(requires=[{"skill": "t"}], standard=std, on_change={"cuff": {"recheck_by": "P10D"}})),
        skill("t"),
    ]
    records = [
        shown("2025-01-09", code="t"),
        shown("2025-01-10"),
        other("hold", "2025-01-21", skill="t", through="2025-01-21"),
        shown("2025-01-21"),
        shown("2025-01-22"),
    ]

    assert through(*records, skills=made, care_plan=changing("01-20"))[1:] == ["01-22 signed_off", "01-31 held"]


# A skill that comes into force later ----------------------------------------------------------------------


@pytest.mark.parametrize(("day", "gate"), [("2025-01-14", ()), ("2025-01-15", ("t",))])
def test_a_prerequisite_is_required_from_the_first_day_of_its_edition(day, gate):
    """A skill without an edition in force is not required, and waived."""
    made = [skill("s", edition(requires=[{"skill": "t"}])), skill("t", edition(in_force_from="2025-01-15"))]

    assert judged("x", shown(day, id="x"), skills=made).gate == gate


def test_an_edition_under_which_it_is_not_required_and_the_next_under_which_it_is_again():
    made = [
        skill(
            "s",
            edition(),
            edition(2, in_force_from="2025-01-15", applies_when={"cuff": ["air"]}),
            edition(3, in_force_from="2025-01-20"),
        )
    ]

    assert through(shown("2025-01-10"), skills=made) == ["01-10 signed_off", "01-15 not_required", "01-20 held"]


def test_a_recheck_that_was_due_is_closed_by_passes_after_it_opened():
    """Two are asked for; the one of 27 January was a day before it opened."""
    made = one(renewal=[{"passes": 2}], on_change={"cuff": {"recheck_by": "P7D"}})
    records = [shown("2025-01-10"), shown("2025-01-27"), shown("2025-01-29")]

    assert through(*records, skills=made, care_plan=changing("01-20"))[-1] == "01-28 held"
    assert through(*records, shown("2025-01-30"), skills=made, care_plan=changing("01-20"))[-1] == "01-30 signed_off"


@pytest.mark.parametrize(("facts", "gate"), [({"suction": True}, ("t",)), ({"cuff": "none", "suction": True}, ())])
def test_a_fact_that_goes_unstated_may_call_for_a_prerequisite(facts, gate):
    """No fact has changed, but unknown never means "not needed"."""
    made = [skill("s", edition(requires=[{"skill": "t"}])), skill("t", edition(applies_when={"cuff": ["air"]}))]
    plans = [plan(), plan("2025-01-15", facts)]

    assert judged("x", shown("2025-01-20", id="x"), skills=made, care_plan=plans).gate == gate
