"""What a case says is what is read: every key ends up in its place, and what is left out gets its default."""

from __future__ import annotations

import json
import time
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from competency.dates import Period
from competency.fields import Fields, Problem, RefusedError, as_number, shown
from competency.programme import (
    ALWAYS,
    Alternative,
    Change,
    Condition,
    Edition,
    Effect,
    Evidence,
    ItemRule,
    Measure,
    Need,
    Older,
    People,
    Prerequisite,
    Programme,
    Rules,
    Skill,
    Standard,
    Step,
)
from competency.reading import parse, read_case, read_programme_alone
from competency.reading_programme import find_cycle
from competency.records import (
    Acceptance,
    Authorisation,
    Caregiver,
    CarePlanEntry,
    Case,
    Certificate,
    Demonstration,
    Exemption,
    Hold,
    ItemDone,
    Override,
    Qualification,
    RecheckCall,
    Resolution,
    SecondObserver,
    Seen,
    Signature,
    Void,
    Withdrawal,
)
from competency.standing import Standing
from tests.competency.build import data, edition, other, plan, skill, standard
from tests.competency.build import shown as attempt
from tests.competency.test_refused_values import whole

FIRST = date(2025, 1, 1)
EARLY = datetime(2024, 12, 1, 9, tzinfo=UTC)
STAMP = datetime(2025, 1, 20, 8, tzinfo=UTC)
TEN = datetime(2025, 1, 10, 8, tzinfo=UTC)
DAY = date(2025, 1, 10)
ONE_PASS = Need(passes=1)
RESULTS = {"a": Seen("independent"), "b": Seen("independent", 10)}

SKILL = Skill(
    code="s",
    editions=(
        Edition(
            number=1,
            in_force_from=FIRST,
            recorded_at=EARLY,
            older=Older(effect=Effect.STAND, by=None),
            applies_when=Condition((("suction", frozenset({"b:true"})),)),
            needs_authorisation=False,
            requires=(),
            on_change={"cuff": Change(effect=Effect.RECHECK), "tube_id_mm": Change(effect=Effect.RECHECK_BY, period=Period(0, 7))},
            standard=Standard(
                evidence=Evidence.DEMONSTRATION,
                needs=(ONE_PASS,),
                renewal=(ONE_PASS,),
                restart_after_failure=True,
                pass_mark=80,
                valid_for=Period(6),
                first_valid_for=Period(1),
                to_month_end=False,
                grace=Period(),
                signatures=frozenset({"educator"}),
            ),
            steps=(
                Step(
                    code="a",
                    critical=True,
                    may_skip=False,
                    roles=frozenset({"lead"}),
                    applies_when=Condition((("cuff", frozenset({"s:none"})),)),
                    measure=None,
                ),
                Step(code="b", critical=False, may_skip=True, roles=None, applies_when=ALWAYS, measure=Measure(unit="s", low=5, high=15)),
            ),
        ),
        Edition(
            number=2,
            in_force_from=date(2025, 2, 1),
            recorded_at=EARLY,
            older=Older(effect=Effect.RECHECK_BY, by=date(2025, 3, 1)),
            applies_when=ALWAYS,
            needs_authorisation=False,
            requires=(),
            on_change={},
            standard=Standard(needs=(ONE_PASS,), renewal=(ONE_PASS,)),
            steps=(Step(code="a", critical=True),),
        ),
    ),
)  # fmt: skip
CARD = Skill(
    code="card",
    editions=(Edition(number=1, in_force_from=FIRST, recorded_at=EARLY, standard=Standard(evidence=Evidence.CERTIFICATE)),),
)  # fmt: skip
NEEDING = Skill(
    code="t",
    editions=(
        Edition(
            number=1,
            in_force_from=FIRST,
            recorded_at=EARLY,
            requires=(Prerequisite(skill="s", within=Period(3), only_to_learn=True),),
            standard=Standard(needs=(ONE_PASS,), renewal=(ONE_PASS,)),
            steps=(Step(code="a", critical=True),),
        ),
    ),
)
RULES = Rules(
    in_force_from=FIRST,
    recorded_at=EARLY,
    sets={"full": ("s",)},
    team=(Alternative(name="one", people=(People(set="full", count=1, minimum_age=18),), patient_alone=False),),
    items=(ItemRule(code="kit", valid_for=Period(0, 30)),),
)
PROGRAMME = Programme(code="p", skills={"s": SKILL, "card": CARD, "t": NEEDING}, rules=(RULES,))
RECORDS = (
    Demonstration(
        id="d", recorded_at=datetime(2025, 1, 10, 12, tzinfo=UTC), on=DAY, seconds=36_000, skill="s", edition=1,
        purpose="assessment", setting="patient", role="lead", mode="in_person", place="hospital", observers=("rn1",),
        results=RESULTS, second=SecondObserver(observer="rn2", results=RESULTS), stopped=None, began=date(2025, 1, 9),
    ),
    Certificate(id="certificate-2025-01-10-card", recorded_at=TEN, on=DAY, skill="card", through=date(2025, 6, 1)),
    Acceptance(id="accepted-2025-01-10-None", recorded_at=TEN, on=DAY, skill="s", last_day=date(2025, 6, 1), organisation="North"),
    Signature(id="signature-2025-01-10-None", recorded_at=TEN, on=DAY, skill="s", by="educator"),
    Hold(id="hold-2025-01-10-None", recorded_at=TEN, on=DAY, skill="s", through=date(2025, 1, 12), reason="ill"),
    RecheckCall(id="recheck-2025-01-10-None", recorded_at=TEN, on=DAY, skill="s", reason="an incident"),
    Withdrawal(id="withdrawal-2025-01-10-None", recorded_at=TEN, on=DAY, skill="s", reason="unsafe", cover="a nurse"),
    Resolution(id="r", recorded_at=STAMP, record="d", take="lead"),
    Override(id="o", recorded_at=STAMP, record="d", reason="sound"),
)  # fmt: skip
WHOLE = Case(
    programme=PROGRAMME,
    qualifications=tuple(
        Qualification(id=f"q-{who}", recorded_at=EARLY, observer=who, skill=None, from_day=date(2024, 1, 1), through=None)
        for who in ("rn1", "rn2")
    ),
    care_plan=(
        CarePlanEntry(
            id="p-2025-01-01",
            recorded_at=datetime(2025, 1, 1, 7, tzinfo=UTC),
            on=FIRST,
            facts={"suction": "b:true", "cuff": "s:none", "tube_id_mm": "n:5.0"},
        ),
    ),
    authorisations=(Authorisation(id="a", recorded_at=STAMP, skill="s", from_day=FIRST, through=date(2025, 6, 1)),),
    items=(ItemDone(id="i", recorded_at=STAMP, item="kit", on=FIRST),),
    exceptions=(
        Exemption(id="x", recorded_at=STAMP, missing="team", from_day=FIRST, through=date(2025, 2, 1), by="s1", reason="r"),
    ),
    caregivers=(
        Caregiver(
            id="ana",
            born=date(1990, 5, 1),
            is_patient=False,
            from_day=None,
            through=date(2026, 1, 1),
            sets=("full",),
            records=RECORDS,
        ),
    ),
    voids=(Void(id="v", recorded_at=STAMP, record="o", reason="typed twice"),),
    on=date(2025, 3, 1),
    known_at=datetime(2025, 6, 1, tzinfo=UTC),
)  # fmt: skip


def test_every_key_is_read_to_its_place():
    assert read_case(whole()) == WHOLE


def test_a_programme_that_was_read_before_takes_the_place_of_the_case_s_own():
    case = {key: value for key, value in whole().items() if key != "programme"}

    assert read_case(case, programme=PROGRAMME) == WHOLE


def test_a_case_with_a_programme_read_before_has_none_of_its_own():
    with pytest.raises(RefusedError) as refusal:
        read_case(whole(), programme=PROGRAMME)

    assert refusal.value.problems == (Problem("programme", "is not a key that is known here"),)


def test_a_programme_alone_is_the_same():
    assert read_programme_alone(whole()["programme"]) == PROGRAMME


@pytest.mark.parametrize(
    ("value", "problems"),
    [
        (None, ["$: is not an object", "code: is missing", "skills: is missing", "rules: is missing"]),
        ({"code": "p", "skills": [], "rules": [], "colour": 1}, ["colour: is not a key that is known here"]),
        (
            {"code": "p", "skills": [skill("s", edition(requires=[{"skill": "z"}]))], "rules": []},
            ['skills[0].editions[0].requires[0].skill: "z" is no skill here'],
        ),
        (
            {"code": "p", "skills": [skill("s", edition(requires=[{"skill": "s"}]))], "rules": []},
            ["skills[0].editions: the prerequisites in force on 2025-01-01 go in a circle: s needs s"],
        ),
    ],
)
def test_a_programme_alone_is_refused_with_paths_of_its_own(value, problems):
    with pytest.raises(RefusedError) as refusal:
        read_programme_alone(value)

    assert [str(p) for p in refusal.value.problems] == problems


def test_the_message_of_a_refusal_is_a_line_for_each_problem():
    assert str(RefusedError([Problem("on", "is missing"), Problem("$", "x")])) == "on: is missing\n$: x"


# What is left out -----------------------------------------------------------------------------------------


def of(**changes):
    """The standard read from one that says this."""
    return read_case(data(skills=[skill("s", edition(**changes))])).programme.skills["s"].editions[0]


@pytest.mark.parametrize(
    ("source", "said", "name", "value"),
    [
        ("4.2 pass_mark (default 100)", {}, "pass_mark", 100),
        ("4.2 restart (the default)", {}, "restart_after_failure", True),
        ("4.2 after_failure keep", {"after_failure": "keep"}, "restart_after_failure", False),
        ("4.2 after_failure restart", {"after_failure": "restart"}, "restart_after_failure", True),
        ("4.2 valid_for (absent: never lapses)", {}, "valid_for", None),
        ("4.2 first_valid_for", {}, "first_valid_for", None),
        ("4.2 valid_to day", {}, "to_month_end", False),
        ("4.2 valid_to day, said", {"valid_to": "day"}, "to_month_end", False),
        ("4.2 valid_to month_end", {"valid_to": "month_end"}, "to_month_end", True),
        ("4.2 grace (default: valid_for)", {"valid_for": "P6M"}, "grace", Period(6)),
        ("4.2 grace of none", {"valid_for": "P6M", "grace": "P0D"}, "grace", Period()),
        ("4.2 grace, said", {"valid_for": "P6M", "grace": "P30D"}, "grace", Period(0, 30)),
        ("4.2 signatures (default none)", {}, "signatures", frozenset()),
        ("4.2 renewal absent, one pass", {"needs": [{"passes": 3, "days": 2}]}, "renewal", (Need(),)),
        ("4.2 one need without its list", {"needs": {"passes": 3}}, "needs", (Need(passes=3),)),
        ("4.2 a count is 1", {"needs": [{}]}, "needs", (Need(passes=1, days=1, observers=1, places=1),)),
    ],
)
def test_what_a_standard_leaves_out(source, said, name, value):
    assert getattr(of(standard=standard(**said)).standard, name) == value, source


FILTERS = {"setting": "patient", "role": "assist", "mode": "remote", "place": "school"}
COUNTS = {"passes": 2, "days": 3, "observers": 4, "places": 2}


def test_every_key_of_a_need_is_read_to_its_place():
    said = {**COUNTS, "within": "P9D"} | {key: [word] for key, word in FILTERS.items()}

    assert of(standard=standard(needs=[said])).standard.needs == (
        Need(**COUNTS, within=Period(0, 9), **{key: frozenset({word}) for key, word in FILTERS.items()}),
    )


@pytest.mark.parametrize("key", FILTERS)
def test_a_filter_that_a_renewal_leaves_out_is_the_first_needs(key):
    """4.2: a doll does not renew a child's sign-off."""
    first = {name: [word] for name, word in FILTERS.items()}
    own = {"setting": ["model"], "role": ["lead"], "mode": ["in_person"], "place": ["home"]}
    renewal = {name: words for name, words in own.items() if name != key} | COUNTS | {"within": "P9D"}
    found = of(standard=standard(needs=[first, {"passes": 2}], renewal=[renewal])).standard.renewal

    assert found == (
        Need(**COUNTS, within=Period(0, 9), **{n: frozenset(first[n] if n == key else own[n]) for n in FILTERS}),
    )


@pytest.mark.parametrize(
    ("said", "older"),
    [
        ("stand", Older(effect=Effect.STAND)),
        ("recheck", Older(effect=Effect.RECHECK)),
        ({"recheck_by": "2025-02-01"}, Older(effect=Effect.RECHECK_BY, by=date(2025, 2, 1))),
    ],
)
def test_what_an_edition_says_of_older_sign_offs(said, older):
    later = edition(2, in_force_from="2025-02-01", older_sign_offs=said)

    assert read_case(data(skills=[skill("s", edition(), later)])).programme.skills["s"].editions[1].older == older


@pytest.mark.parametrize(
    ("said", "change"),
    [
        ("recheck", Change(effect=Effect.RECHECK)),
        ("restart", Change(effect=Effect.RESTART)),
        ({"recheck_by": "P0D"}, Change(effect=Effect.RECHECK_BY, period=Period())),
    ],
)
def test_what_a_change_of_a_fact_does(said, change):
    assert of(on_change={"cuff": said}).on_change == {"cuff": change}


@pytest.mark.parametrize(
    "said",
    [
        {"evidence": "certificate", "standard": {"evidence": "certificate"}},
        {"evidence": "certificate", "standard": {}},
        {"evidence": "certificate", "standard": None},
        {"standard": {"evidence": "certificate"}},
    ],
)
def test_ways_to_say_that_a_card_is_the_evidence(said):
    assert of(steps=[], **said).standard == Standard(evidence=Evidence.CERTIFICATE)


@pytest.mark.parametrize(
    ("said", "problem"),
    [
        ({"evidence": "certificate", "needs": []}, "needs: is empty"),
        ({"evidence": "certificate", "needs": [{}]}, "needs: a certificate skill has no needs"),
        ({"evidence": "certificate", "renewal": [{}]}, "renewal: a certificate skill has no needs"),
        ({"evidence": "certificate", "needs": [{}], "renewal": [{}]}, "needs: a certificate skill has no needs"),
    ],
)
def test_a_card_has_no_needs(said, problem):
    with pytest.raises(RefusedError) as refusal:
        of(steps=[], standard=said)

    assert str(refusal.value) == f"programme.skills[0].editions[0].standard.{problem}"


# Order ----------------------------------------------------------------------------------------------------


def test_editions_are_read_in_the_order_of_their_numbers():
    later = edition(2, in_force_from="2025-02-01")
    found = read_case(data(skills=[skill("s", later, edition(older_sign_offs=None))])).programme.skills["s"].editions

    assert [(e.number, e.older) for e in found] == [(1, Older()), (2, Older())]


def test_a_first_edition_need_not_have_the_number_one():
    assert of(edition=3, older_sign_offs=None).number == 3


@pytest.mark.parametrize("turned", [False, True])
def test_rules_are_read_in_the_order_they_come_into_force(turned):
    """Of two that begin on one day the one recorded later is the newer."""
    begins = [
        ("2025-01-01", "2024-12-01T09:00:00Z"),
        ("2025-02-01", "2024-12-01T09:00:00Z"),
        ("2025-02-01", "2024-12-02T09:00:00Z"),
    ]
    rules = [{"in_force_from": day, "recorded_at": at, "sets": {}, "team": []} for day, at in begins]
    read = read_programme_alone({"code": "p", "skills": [skill()], "rules": rules[::-1] if turned else rules}).rules

    assert [(r.in_force_from.isoformat(), r.recorded_at.day, r.items) for r in read] == [
        ("2025-01-01", 1, ()),
        ("2025-02-01", 1, ()),
        ("2025-02-01", 2, ()),
    ]


# Defaults of a case ---------------------------------------------------------------------------------------


def test_what_a_caregiver_leaves_out():
    case = data(caregivers=[{"id": "ana"}])

    assert read_case(case).caregivers == (
        Caregiver(id="ana", born=None, is_patient=False, from_day=None, through=None, sets=(), records=()),
    )


@pytest.mark.parametrize(
    "key", ["qualifications", "care_plan", "authorisations", "items", "exceptions", "caregivers", "voids"]
)
def test_lists_that_are_left_out_are_empty(key):
    case = {k: v for k, v in data().items() if k != key}

    assert getattr(read_case(case), key) == ()


@pytest.mark.parametrize(
    ("fields", "seconds"),
    [
        ({}, -1),
        ({"time": None}, -1),
        ({"time": "00:00"}, 0),
        ({"time": "10:01"}, 36_060),
        ({"time": "23:59:59"}, 86_399),
    ],
)
def test_a_time_is_seconds_since_midnight(fields, seconds):
    found = read_case(data(other("hold", "2025-01-10", through=None, **fields))).caregivers[0].records[0]

    assert (found.seconds, found.reason) == (seconds, "")


def test_a_time_of_a_care_plan_entry():
    assert read_case(data(care_plan=[plan(time="08:30")])).care_plan[0].seconds == 30_600


def test_a_day_and_a_time_of_a_resolution_move_nothing():
    """It acts on the attempt's own day; both may stand there."""
    seen = attempt("2025-01-10", id="d", second={"observer": "rn2", "results": {"a": "omitted"}})
    said = {"kind": "resolution", "id": "r", "record": "d", "take": "second", "recorded_at": "2025-01-20T08:00:00Z"}
    plain, dated = (read_case(data(seen, said | more)) for more in ({}, {"on": "2025-01-21", "time": "09:00"}))

    assert plain == dated


@pytest.mark.parametrize(("key", "value"), [("on", "soon"), ("time", "25:00")])
def test_but_they_are_read(key, value):
    said = {"kind": "override", "id": "o", "record": "d", "reason": "r", "recorded_at": "2025-01-20T08:00:00Z"}
    with pytest.raises(RefusedError) as refusal:
        read_case(data(attempt("2025-01-10", id="d"), said | {key: value}))

    assert [p.path for p in refusal.value.problems] == [f"caregivers[0].records[1].{key}"]


@pytest.mark.parametrize(
    ("said", "instant"),
    [
        ("2025-02-03T10:20:00Z", datetime(2025, 2, 3, 10, 20, tzinfo=UTC)),
        ("2025-02-03T10:20Z", datetime(2025, 2, 3, 10, 20, tzinfo=UTC)),
        ("2025-02-03T10:20:00+02:00", datetime(2025, 2, 3, 8, 20, tzinfo=UTC)),
        ("2025-02-03T10:20:00.123456-05:30", datetime(2025, 2, 3, 15, 50, 0, 123456, tzinfo=UTC)),
    ],
)
def test_an_instant_is_kept_in_utc(said, instant):
    found = read_case(data(known_at=said)).known_at

    assert (found, found.tzinfo) == (instant, UTC)


@pytest.mark.parametrize("said", ["0001-01-01T00:00:00+01:00", "9999-12-31T23:59:59-01:00"])
def test_an_instant_before_or_after_all_time_is_refused(said):
    with pytest.raises(RefusedError, match=f'^known_at: is "{said.replace("+", ".")}", not an instant'):
        read_case(data(known_at=said))


# JSON -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ('{"on": 1, "on": 2}', "the key 'on' is given twice in one object"),
        ('{"b": 1, "b": 2, "a": 1, "a": 2, "c": 3}', "the key 'a' is given twice in one object"),
        ('{"a": 1, "b": 1, "b": 2}', "the key 'b' is given twice in one object"),
        ('{"on": NaN}', "NaN is no number"),
        ('{"on": -Infinity}', "-Infinity is no number"),
        ("[" * 100_000, "is nested too deeply"),
        ("", "is no JSON: Expecting value: line 1 column 1 (char 0)"),
    ],
)
def test_what_is_no_json_is_refused_in_words(text, message):
    with pytest.raises(RefusedError) as refusal:
        parse(text)

    assert refusal.value.problems == (Problem("$", message),)


def test_json_is_read_as_text_and_as_bytes():
    assert parse('{"a": [1, null]}') == parse(b'{"a": [1, null]}') == {"a": [1, None]}


# One field at a time --------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("value", "said"),
    [
        ("soon", '"soon"'),
        (1.5, "1.5"),
        (None, "None"),
        ("two\nlines  apart", '"two lines apart"'),
        ("x" * 58, f'"{"x" * 58}"'),
        ("x" * 59, f'"{"x" * 56}...'),
        (list(range(40)), "[0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15, 16..."),
    ],
)
def test_a_value_is_shown_short_and_on_one_line(value, said):
    assert shown(value) == said


@pytest.mark.parametrize("value", [0, -1, 1.5, 10**300])
def test_a_number(value):
    assert as_number(value) == value


@pytest.mark.parametrize("value", [True, "1", None, float("inf"), float("nan"), 10**400, Decimal(1), [1]])
def test_no_number(value):
    with pytest.raises(TypeError):
        as_number(value)


def test_a_field_inside_a_sound_object_is_not_blamed_for_what_came_before():
    problems = [Problem("before", "is wrong")]
    fields = Fields({"a": 1}, "here", problems)

    assert (fields.is_sound, fields.whole("a", 1, 1), fields.done()) == (True, 1, True)


@pytest.mark.parametrize(
    ("path", "key", "found"),
    [("", "", "$"), ("", "a", "a"), ("here", "", "here"), ("here", "a", "here.a")],
)
def test_where_a_problem_is(path, key, found):
    problems = []
    Fields({}, path, problems).refuse(key, "is wrong")

    assert problems == [Problem(found, "is wrong")]


# Circles --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("needs", "circle"),
    [
        ({}, []),
        ({"a": "b", "b": "c"}, []),
        ({"a": "bc", "b": "d", "c": "d"}, []),
        ({"a": "a"}, ["a", "a"]),
        ({"a": "b", "b": "c", "c": "b"}, ["b", "c", "b"]),
        ({"a": "b", "c": "d", "d": "c"}, ["c", "d", "c"]),
        ({"a": "bd", "d": "a"}, ["a", "d", "a"]),
        ({"a": "z"}, []),
    ],
)
def test_a_circle_is_found_wherever_it_hangs(needs, circle):
    skills = {
        code: Skill(
            code=code,
            editions=(
                Edition(
                    number=1,
                    in_force_from=FIRST,
                    recorded_at=EARLY,
                    requires=tuple(Prerequisite(skill=other) for other in needs.get(code, "")),
                ),
            ),
        )
        for code in "abcd"
    }
    programme = Programme(code="p", skills=skills, rules=())

    assert (find_cycle(programme, FIRST), find_cycle(programme, date(2024, 12, 31))) == (circle, [])


def test_every_circle_is_refused_before_its_first_day_comes():
    later = edition(2, in_force_from="2025-02-01", requires=[{"skill": "s"}])
    with pytest.raises(RefusedError) as refusal:
        read_programme_alone(
            json.loads(json.dumps({"code": "p", "skills": [skill("t"), skill("s", edition(), later)], "rules": []}))
        )

    assert refusal.value.problems == (
        Problem("skills[1].editions", "the prerequisites in force on 2025-02-01 go in a circle: s needs s"),
    )


def test_a_part_that_is_not_there_is_empty():
    problems = []
    part = Fields({}, "here", problems).part("x")

    assert (part.done(), part.at("y"), problems) == (True, "here.x.y", [])


@pytest.mark.parametrize(("flag", "problems"), [({}, ["x: is missing"]), ({"x": True}, [])])
def test_a_flag_without_a_default_has_to_be_said(flag, problems):
    found = []
    Fields(flag, "", found).flag("x")

    assert [str(problem) for problem in found] == problems


def test_an_instant_is_kept_in_utc_wherever_the_rules_run(monkeypatch):
    monkeypatch.setenv("TZ", "Asia/Tokyo")
    time.tzset()
    try:
        found = read_case(data(known_at="2025-02-03T10:20:00+02:00")).known_at
    finally:
        monkeypatch.undo()
        time.tzset()

    assert found.isoformat() == "2025-02-03T08:20:00+00:00"


def test_a_word_that_is_not_known_is_not_read_as_the_default():
    problems = []
    fields = Fields({"said": "x", "nothing": None}, "", problems)
    found = [fields.choice(key, ["a", "b"], default="a") for key in ("said", "nothing", "absent")]

    assert (found, [p.path for p in problems]) == ([None, "a", "a"], ["said"])


@pytest.mark.parametrize(
    ("said", "taken", "problems"), [("held", "held", 0), ("x", None, 1), (1, None, 1), (["held"], None, 1)]
)
def test_a_choice_may_be_one_of_an_enum(said, taken, problems):
    found: list[Problem] = []

    assert Fields({"standing": said}, "", found).choice("standing", Standing) == taken
    assert len(found) == problems
