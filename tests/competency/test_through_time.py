"""Standings through time (design 4.2 to 4.5), each boundary beside the day after it."""

import pytest

from competency.fields import RefusedError
from competency.reading import read_case
from tests.competency.build import (
    data,
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

# Validity, grace, renewal ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "day", "expected"),
    [
        ("not before the day", "2025-01-30", "not_started"),
        ("current from that day", "2025-01-31", "signed_off"),
        ("through D + P inclusive, the day clipped", "2025-02-28", "signed_off"),
        ("the day after is the first lapsed day", "2025-03-01", "lapsed"),
    ],
)
def test_a_month_from_31_january(sentence, day, expected):
    assert standing(history(shown("2025-01-31"), skills=one(valid_for="P1M")), day) == expected, sentence


@pytest.mark.parametrize(("day", "expected"), [("2025-02-28", "signed_off"), ("2025-03-01", "lapsed")])
def test_month_end_moves_to_the_last_day_of_that_month(day, expected):
    assert standing(history(shown("2025-01-03"), skills=one(valid_for="P1M", valid_to="month_end")), day) == expected


@pytest.mark.parametrize(("renewed_on", "day_after"), [("2025-02-28", "lapsed"), ("2025-03-01", "lapsed")])
def test_a_full_sign_off_is_asked_for_after_grace(renewed_on, day_after):
    """Grace of P10D after the last day 2025-01-31 runs through 2025-02-10."""
    two = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P10D", grace="P10D")
    found = history(shown("2025-01-20"), shown("2025-01-21"), shown(renewed_on), skills=two)

    assert standing(found, renewed_on) == day_after


@pytest.mark.parametrize(("renewed_on", "expected"), [("2025-02-10", "signed_off"), ("2025-02-11", "lapsed")])
def test_grace_and_the_day_after_it(renewed_on, expected):
    two = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P10D", grace="P10D")
    found = history(shown("2025-01-20"), shown("2025-01-21"), shown(renewed_on), skills=two)

    assert standing(found, renewed_on) == expected


def test_grace_is_counted_from_the_original_date():
    """31 January + 1 month is 28 February; grace of another month runs through 31 March."""
    two = one(needs=[{"passes": 2}], renewal=[{"passes": 1}], valid_for="P1M", grace="P1M")
    found = history(shown("2025-01-30"), shown("2025-01-31"), shown("2025-03-31"), skills=two)

    assert standing(found, "2025-03-31") == "signed_off"


def test_a_renewal_never_shortens():
    found = history(shown("2025-01-10"), shown("2025-01-12"), skills=one(valid_for="P10D", first_valid_for="P60D"))

    assert spans(found)[-2:] == [
        ("signed_off", "2025-01-10", "2025-03-11"),
        ("lapsed", "2025-03-12", None),
    ]


def test_a_doll_does_not_renew_a_childs_sign_off():
    patient = one(needs=[{"passes": 1, "setting": ["patient"]}], renewal=[{"passes": 1}], valid_for="P10D")
    found = history(shown("2025-01-10"), shown("2025-01-15", setting="model"), skills=patient)

    assert standing(found, "2025-01-21") == "lapsed"


# Needs ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "need", "passes", "expected"),
    [
        ("Burr 2024, facts T22: three insertions", {"passes": 3}, ["01-10", "01-11"], "in_training"),
        ("Burr 2024, facts T22: three insertions", {"passes": 3}, ["01-10", "01-11", "01-12"], "signed_off"),
        ("4.2 days", {"passes": 2, "days": 2}, ["01-10", "01-10"], "in_training"),
        ("4.2 days", {"passes": 2, "days": 2}, ["01-10", "01-11"], "signed_off"),
        ("Nottinghamshire, facts T27: two within 3 months", {"passes": 2, "within": "P3M"}, ["01-10", "04-10"], "signed_off"),
        ("Nottinghamshire, facts T27: a day too late", {"passes": 2, "within": "P3M"}, ["01-10", "04-11"], "in_training"),
    ],
)  # fmt: skip
def test_how_many(source, need, passes, expected):
    records = [shown(f"2025-{day}", at=f"1{n}:00") for n, day in enumerate(passes)]

    assert standing(history(*records, skills=one(needs=[need])), "2025-12-01") == expected, source


@pytest.mark.parametrize(
    ("source", "need", "change", "expected"),
    [
        ("scenario 4: a doll is no child", {"setting": ["patient"]}, {"setting": "model"}, "in_training"),
        ("scenario 6: holding is not inserting", {"role": ["lead"]}, {"role": "assist"}, "in_training"),
        ("scenario 41: not at home", {"place": ["home"]}, {"place": "hospital"}, "in_training"),
        ("scenario 21: by video", {"mode": ["in_person"]}, {"mode": "remote"}, "in_training"),
        ("4.2: a filter left out looks at all", {}, {"setting": "model", "mode": "remote"}, "signed_off"),
    ],
)
def test_filters_choose(source, need, change, expected):
    assert standing(history(shown("2025-01-10", **change), skills=one(needs=[need])), "2025-01-10") == expected, source


def test_two_people_watching_one_attempt_are_one_attempt():
    both = shown("2025-01-10", observers=["rn1", "rn2"])
    found = history(both, skills=one(needs=[{"passes": 1, "observers": 2}]))

    assert standing(found, "2025-01-10") == "in_training"


@pytest.mark.parametrize(("after_failure", "expected"), [("restart", "in_training"), ("keep", "signed_off")])
def test_scenario_1_a_failure_between_passes(after_failure, expected):
    three = one(needs=[{"passes": 3}], after_failure=after_failure)
    days = [shown("2025-01-10"), shown("2025-01-11"), failed("2025-01-12"), shown("2025-01-13")]

    assert standing(history(*days, skills=three), "2025-01-13") == expected


# What moves nothing ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "change"),
    [
        ("4.1 practice moves nothing", {"purpose": "practice"}),
        ("scenario 14: an unqualified observer", {"observers": ["new"]}),
        ("scenario 20: a critical step not seen", {"results": {"a": "not_seen"}}),
        ("scenario 17: two observers differ", {"second": {"observer": "rn2", "results": {"a": "prompted"}}}),
    ],
)
def test_it_moves_nothing_and_stays_visible(source, change):
    assert spans(history(shown("2025-01-10", **change))) == [
        ("not_started", "2025-01-01", "2025-01-09"),
        ("in_training", "2025-01-10", None),
    ], source


@pytest.mark.parametrize(("take", "expected"), [("lead", "signed_off"), ("second", "in_training")])
def test_a_named_person_resolves_a_dispute(take, expected):
    attempt = shown("2025-01-10", second={"observer": "rn2", "results": {"a": "prompted"}})
    word = {
        "kind": "resolution",
        "id": "r",
        "record": attempt["id"],
        "take": take,
        "recorded_at": "2025-01-20T08:00:00Z",
    }

    assert standing(history(attempt, word), "2025-01-10") == expected


# Gates ----------------------------------------------------------------------------------------------------

GATED = [
    skill("first", edition(standard=standard(valid_for="P30D"))),
    skill("s", edition(requires=[{"skill": "first"}])),
]


@pytest.mark.parametrize(
    ("sentence", "first_at", "then_at", "change", "expected"),
    [
        ("the gate is open at that moment", "09:00", "10:00", {}, "signed_off"),
        ("and closed a moment before", "11:00", "10:00", {}, "in_training"),
        ("only the patient is behind it", "11:00", "10:00", {"setting": "model"}, "signed_off"),
    ],
)
def test_no_tube_change_before_suctioning(sentence, first_at, then_at, change, expected):
    records = [shown("2025-01-10", code="first", at=first_at), shown("2025-01-10", at=then_at, **change)]

    assert standing(history(*records, skills=GATED), "2025-01-10") == expected, sentence


def test_a_lapsed_prerequisite_holds_what_it_gates():
    records = [shown("2025-01-10", code="first"), shown("2025-01-11")]

    assert spans(history(*records, skills=GATED))[-2:] == [
        ("signed_off", "2025-01-11", "2025-02-09"),
        ("held", "2025-02-10", None),
    ]


def test_a_supervisor_lets_one_named_pass_count():
    attempt = shown("2025-01-10")
    word = {
        "kind": "override",
        "id": "o",
        "record": attempt["id"],
        "reason": "seen",
        "recorded_at": "2025-01-20T08:00:00Z",
    }
    records = [attempt, word, shown("2025-01-12", code="first")]

    assert standing(history(*records, skills=GATED), "2025-01-12") == "signed_off"


def test_a_prerequisite_the_care_plan_does_not_call_for_is_waived():
    skills = [skill("first", edition(applies_when={"cuff": ["air"]})), GATED[1]]

    assert standing(history(shown("2025-01-10"), skills=skills), "2025-01-10") == "signed_off"


# What makes a current skill unusable ----------------------------------------------------------------------


def test_scenario_33_a_hold_keeps_the_clock_running():
    found = history(
        shown("2025-01-10"), other("hold", "2025-01-15", through="2025-01-20", reason="x"), skills=one(valid_for="P1M")
    )

    assert spans(found)[1:] == [
        ("signed_off", "2025-01-10", "2025-01-14"),
        ("held", "2025-01-15", "2025-01-20"),
        ("signed_off", "2025-01-21", "2025-02-10"),
        ("lapsed", "2025-02-11", None),
    ]


def test_without_the_prescribers_word_a_pass_on_the_patient_does_not_count():
    skills = [skill("s", edition(needs_authorisation=True))]
    word = {
        "id": "a",
        "skill": "s",
        "from": "2025-01-11",
        "through": "2025-01-20",
        "recorded_at": "2025-01-11T08:00:00Z",
    }
    found = history(shown("2025-01-10"), shown("2025-01-11"), skills=skills, authorisations=[word])

    assert spans(found)[1:] == [
        ("in_training", "2025-01-10", "2025-01-10"),
        ("signed_off", "2025-01-11", "2025-01-20"),
        ("held", "2025-01-21", None),
    ]


def test_a_critical_failure_after_a_sign_off_opens_a_recheck_that_one_pass_closes():
    found = history(shown("2025-01-10"), failed("2025-01-15"), shown("2025-01-20"))

    assert spans(found)[1:] == [
        ("signed_off", "2025-01-10", "2025-01-14"),
        ("held", "2025-01-15", "2025-01-19"),
        ("signed_off", "2025-01-20", None),
    ]


def test_withdrawal_is_left_only_by_a_full_sign_off():
    two = one(needs=[{"passes": 2}], renewal=[{"passes": 1}])
    records = [
        shown("2025-01-10"),
        shown("2025-01-11"),
        other("withdrawal", "2025-01-15", reason="x", cover="y"),
        shown("2025-01-20"),
        shown("2025-01-21"),
    ]

    assert spans(history(*records, skills=two))[2:] == [
        ("signed_off", "2025-01-11", "2025-01-14"),
        ("withdrawn", "2025-01-15", "2025-01-20"),
        ("signed_off", "2025-01-21", None),
    ]


# Signatures -----------------------------------------------------------------------------------------------

BOTH = one(signatures=["caregiver", "educator"], valid_for="P10D")


def test_scenario_24_no_sign_off_without_her_own_yes():
    found = history(shown("2025-01-10"), other("signature", "2025-01-11", by="educator"), skills=BOTH)

    assert spans(found)[1:] == [
        ("awaiting", "2025-01-10", "2025-01-20"),
        ("in_training", "2025-01-21", None),
    ]


def test_the_last_day_counts_from_the_completing_pass_not_from_the_signature():
    signed = [other("signature", "2025-01-15", by=by, id=by) for by in ("caregiver", "educator")]

    assert spans(history(shown("2025-01-10"), *signed, skills=BOTH))[1:] == [
        ("awaiting", "2025-01-10", "2025-01-14"),
        ("signed_off", "2025-01-15", "2025-01-20"),
        ("lapsed", "2025-01-21", None),
    ]


def test_signatures_given_earlier_that_day_count():
    signed = [other("signature", "2025-01-10", by=by, id=by, time="08:00") for by in ("caregiver", "educator")]

    assert standing(history(shown("2025-01-10"), *signed, skills=BOTH), "2025-01-10") == "signed_off"


# Change ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("effect", "expected"),
    [
        ("recheck", [("signed_off", "2025-01-10", "2025-01-19"), ("held", "2025-01-20", None)]),
        ({"recheck_by": "P7D"}, [("signed_off", "2025-01-10", "2025-01-27"), ("held", "2025-01-28", None)]),
        ("restart", [("signed_off", "2025-01-10", "2025-01-19"), ("held", "2025-01-20", None)]),
    ],
)
def test_scenario_8_the_tube_changes(effect, expected):
    skills = [skill("s", edition(on_change={"tube_id_mm": effect}))]
    plans = [plan(), plan("2025-01-20", {"suction": True, "tube_id_mm": 5.5})]

    assert spans(history(shown("2025-01-10"), skills=skills, care_plan=plans))[1:] == expected


def test_a_fact_that_returns_closes_what_its_change_opened():
    skills = [skill("s", edition(on_change={"tube_id_mm": "recheck"}))]
    plans = [plan(), plan("2025-01-20", {"tube_id_mm": 5.5}), plan("2025-01-25", {"tube_id_mm": 5})]

    assert spans(history(shown("2025-01-10"), skills=skills, care_plan=plans))[1:] == [
        ("signed_off", "2025-01-10", "2025-01-19"),
        ("held", "2025-01-20", "2025-01-24"),
        ("signed_off", "2025-01-25", None),
    ]


def test_scenario_7_a_new_cuff_calls_for_a_new_skill():
    skills = [skill("s", edition(applies_when={"cuff": ["air", "water"]}))]
    plans = [plan(), plan("2025-01-20", {"cuff": "air"})]

    assert spans(history(skills=skills, care_plan=plans)) == [
        ("not_required", "2025-01-01", "2025-01-19"),
        ("not_started", "2025-01-20", None),
    ]


@pytest.mark.parametrize(
    ("policy", "expected"),
    [
        ("stand", [("signed_off", "2025-01-10", None)]),
        ("recheck", [("signed_off", "2025-01-10", "2025-01-31"), ("held", "2025-02-01", None)]),
        ({"recheck_by": "2025-02-15"}, [("signed_off", "2025-01-10", "2025-02-15"), ("held", "2025-02-16", None)]),
    ],
)
def test_scenario_12_a_new_edition_says_what_happens_to_older_sign_offs(policy, expected):
    second = edition(2, in_force_from="2025-02-01", recorded_at="2025-01-15T09:00:00Z", older_sign_offs=policy)

    assert spans(history(shown("2025-01-10"), skills=[skill("s", edition(), second)]))[1:] == expected


# Both dates -----------------------------------------------------------------------------------------------


def test_a_void_gives_the_history_without_the_record():
    attempt = shown("2025-01-10")
    void = {"id": "v", "record": attempt["id"], "reason": "x", "recorded_at": "2025-02-01T08:00:00Z"}

    assert spans(history(attempt, voids=[void])) == spans(history())


def test_scenario_54_as_known_then_and_as_known_now():
    from datetime import UTC, datetime

    from competency.history import FamilyHistory

    late = shown("2025-01-10", recorded_at="2025-02-01T08:00:00Z")
    then = FamilyHistory(read_case(data(late)), datetime(2025, 1, 31, tzinfo=UTC))

    assert standing(then, "2025-01-15") == "not_started"
    assert standing(history(late), "2025-01-15") == "signed_off"


def test_a_care_plan_entered_later_never_rescores_an_attempt():
    steps = [{"code": "a", "critical": True}, {"code": "b", "critical": True, "applies_when": {"cuff": ["air"]}}]
    late = plan("2025-01-05", {"cuff": "air"}, recorded_at="2025-02-01T08:00:00Z")
    found = history(shown("2025-01-10"), skills=[skill("s", edition(steps=steps))], care_plan=[plan(), late])

    assert standing(found, "2025-01-10") == "signed_off"


@pytest.mark.parametrize(
    ("why", "path", "changes"),
    [
        ("a void of nothing", "voids[0].record", {"voids": [{"id": "v", "record": "no", "reason": "x", "recorded_at": "2025-01-01T08:00:00Z"}]}),
        ("two entries on one day", "care_plan[1].on", {"care_plan": [plan(), plan(id="again")]}),
        ("an unknown key", "nonsense", {"nonsense": 1}),
        ("a circle", "programme.skills[0].editions", {"skills": [skill("s", edition(requires=[{"skill": "t"}])), skill("t", edition(requires=[{"skill": "s"}]))]}),
        ("an unknown prerequisite", "programme.skills[0].editions[0].requires[0].skill", {"skills": [skill("s", edition(requires=[{"skill": "t"}]))]}),
        ("a window of zero", "programme.skills[0].editions[0].standard.needs[0].within", {"skills": one(needs=[{"within": "P0D"}])}),
    ],
)  # fmt: skip
def test_contradictions_are_refused_with_their_path(why, path, changes):
    with pytest.raises(RefusedError) as refusal:
        read_case(data(**changes))

    assert [p.path for p in refusal.value.problems] == [path], why


@pytest.mark.parametrize(
    ("why", "path", "changes"),
    [
        ("a missing result", "results.a", {"results": {}}),
        ("a result for no step", "results.z", {"results": {"a": "independent", "z": "independent"}}),
        ("an observer who is the caregiver", "observers[0]", {"observers": ["ana"]}),
        ("before the edition and the care plan", "on", {"on": "2024-12-31"}),
        ("an edition that is not there", "edition", {"edition": 2}),
        ("a critical step may not be skipped", "results.a", {"results": {"a": "not_applicable"}}),
        ("an unknown result", "results.a", {"results": {"a": "great"}}),
        ("a time that is none", "time", {"time": "25:00"}),
        ("began after it ended", "began", {"began": "2025-01-10"}),
    ],
)  # fmt: skip
def test_a_bad_attempt_is_refused_with_its_path(why, path, changes):
    with pytest.raises(RefusedError) as refusal:
        read_case(data(shown("2025-01-10") | changes))

    assert f"caregivers[0].records[0].{path}" in [p.path for p in refusal.value.problems], why
