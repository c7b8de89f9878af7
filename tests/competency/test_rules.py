"""The small functions the standings rest on, one by one: tallies, teams, sets, items, spans, what was known when."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from competency.course import LEARNING, Clock, Phase
from competency.dates import LAST, Period
from competency.history import FamilyHistory
from competency.knowledge import PlanMemory, as_known, voided_at
from competency.plan import EditionStarts, look_up
from competency.programme import (
    ALWAYS,
    Alternative,
    Condition,
    Edition,
    Effect,
    ItemRule,
    Measure,
    Need,
    Older,
    People,
    Programme,
    Rules,
    Skill,
    Step,
    fact_key,
)
from competency.readiness import Missing, Verdict, held_points, item_points, verdict_on, within_stay
from competency.reading import read_case
from competency.records import Caregiver, CarePlanEntry, ItemDone, Qualification, Seen, Void, in_force
from competency.scoring import Outcome, judge, outcome_of, troubles
from competency.standing import Line, Span, Standing, gate_epochs, standing_of
from competency.sweep import Observers, edition_is_acceptable
from competency.tally import Attempt, any_looks_at, is_met, looks_at, tally
from competency.team import Person, first_met, fits, match, nearest
from competency.team import is_met as team_is_met
from tests.competency.build import EARLY, FIRST, data, edition, history, other, plan, shown, skill, standard

T0 = datetime(2025, 1, 1, 8, tzinfo=UTC)


def day(text):
    return date.fromisoformat(f"2025-{text}")


def days(*texts):
    return [day(text) for text in texts]


# Tallies --------------------------------------------------------------------------------------------------

WORDS = {"setting": "patient", "role": "lead", "mode": "in_person", "place": "home"}


def a_pass(place_in_line, on="01-10", *, observer="rn1", full=True, number=1, **words):
    said = WORDS | words
    return Attempt(place_in_line, f"d{place_in_line}", day(on), number, said["setting"], said["role"], said["mode"], said["place"], observer, full)  # fmt: skip


@pytest.mark.parametrize("key", WORDS)
def test_each_filter_chooses_by_itself(key):
    this, another = Need(**{key: frozenset({WORDS[key], "x"})}), Need(**{key: frozenset({"x"})})

    assert (looks_at(this, a_pass(1)), looks_at(another, a_pass(1)), looks_at(Need(), a_pass(1))) == (True, False, True)


def test_any_of_several_needs_may_look_at_it():
    no, yes = Need(role=frozenset({"assist"})), Need()

    assert [any_looks_at(needs, a_pass(1)) for needs in ((), (no,), (no, yes), (yes, no))] == [False, False, True, True]


@pytest.mark.parametrize(
    ("sentence", "options", "failures", "found"),
    [
        ("after its floor", {"after": 2}, [], [3, 4]),
        ("everything from the start", {"after": 0}, [], [1, 2, 3, 4]),
        ("a failure moves it", {"after": 0, "restart": True}, [a_pass(3)], [4]),
        ("keep does not", {"after": 0, "restart": False}, [a_pass(3)], [1, 2, 3, 4]),
        ("the latest failure that is looked at", {"after": 0, "restart": True}, [a_pass(2), a_pass(3, setting="model")], [3, 4]),
        ("never back", {"after": 3, "restart": True}, [a_pass(1)], [4]),
        ("nor on the floor itself", {"after": 3, "restart": True}, [a_pass(3)], [4]),
        ("only what counts in full", {"after": 0, "full": True}, [], [1, 2, 3]),
        ("on this edition or later", {"after": 0, "edition": 2}, [], [3, 4]),
    ],
)  # fmt: skip
def test_a_tally(sentence, options, failures, found):
    passes = [a_pass(1), a_pass(2), a_pass(3, number=2), a_pass(4, number=3, full=False), a_pass(5, setting="model")]
    need = Need(setting=frozenset({"patient"}))

    assert [p.place_in_line for p in tally(need, passes, failures, **{"restart": False} | options)] == found, sentence


ON = [a_pass(n, on, observer=o, place=p) for n, (on, o, p) in enumerate([("01-10", "a", "home"), ("01-10", "b", "home"), ("01-20", "b", "school"), ("01-31", "b", "school")])]  # fmt: skip


@pytest.mark.parametrize(
    ("need", "count", "is_enough"),
    [
        ({"passes": 2}, 1, False),
        ({"passes": 2}, 2, True),
        ({"passes": 2, "days": 2}, 2, False),
        ({"passes": 2, "days": 2}, 3, True),
        ({"passes": 1, "days": 2}, 2, False),
        ({"passes": 1, "days": 3}, 4, True),
        ({"passes": 1, "observers": 2}, 1, False),
        ({"passes": 1, "observers": 2}, 2, True),
        ({"passes": 1, "observers": 3}, 4, False),
        ({"passes": 1, "places": 2}, 2, False),
        ({"passes": 1, "places": 2}, 3, True),
        ({"passes": 2, "within": Period(0, 10)}, 2, True),
        ({"passes": 3, "within": Period(0, 10)}, 3, True),
        ({"passes": 3, "within": Period(0, 9)}, 3, False),
        ({"passes": 2, "days": 2, "within": Period(0, 9)}, 4, False),
        ({"passes": 2, "days": 2, "within": Period(0, 10)}, 4, True),
        ({"passes": 2, "days": 2, "places": 1, "within": Period(0, 11)}, 4, True),
        ({"passes": 2, "within": Period(0, 1)}, 1, False),
        ({"passes": 4, "within": Period(0, 21)}, 4, True),
        ({"passes": 4, "within": Period(0, 20)}, 4, False),
    ],
)
def test_when_a_tally_is_enough(need, count, is_enough):
    assert is_met(Need(**need), ON[:count]) is is_enough


def test_a_window_begins_at_any_pass():
    """The first two are far apart; the second and third are not, and those before a window are not in it."""
    spread = [a_pass(1, "01-01"), a_pass(2, "02-01"), a_pass(3, "02-03")]

    assert [is_met(Need(passes=n, within=Period(0, 5)), spread) for n in (2, 3)] == [True, False]
    assert (
        is_met(Need(passes=2, observers=2, within=Period(0, 5)), [a_pass(1, "01-01", observer="b"), *spread[1:]])
        is False
    )


# Clocks ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("sentence", "period", "to_month_end", "grace", "last", "with_grace"),
    [
        ("a month", Period(1), False, Period(0, 10), day("02-28"), day("03-10")),
        ("grace in months counts from the original date", Period(1), False, Period(1), day("02-28"), day("03-31")),
        ("unless the first was in days", Period(0, 30), False, Period(1), day("03-02"), day("04-02")),
        ("or in both", Period(1, 1), False, Period(1), day("03-01"), day("04-01")),
        ("to the month's end already", Period(1), True, Period(1), day("02-28"), day("03-31")),
        ("no grace", Period(1), False, Period(), day("02-28"), day("02-28")),
        ("nothing said", Period(1), False, None, day("02-28"), day("02-28")),
        ("no clock", None, True, Period(1), None, None),
    ],
)
def test_a_clock_counted_from_31_january(sentence, period, to_month_end, grace, last, with_grace):
    clock = Clock.counted(day("01-31"), period, to_month_end=to_month_end)

    assert (clock.last_day, clock.plus(grace), clock.end) == (last, with_grace, last or LAST), sentence


def test_grace_after_a_moved_month_end_counts_from_that_end():
    clock = Clock.counted(day("01-10"), Period(1), to_month_end=True)

    assert (clock.last_day, clock.plus(Period(1)), clock.original) == (day("02-28"), day("03-28"), None)


def test_grace_of_a_clock_that_was_given_counts_from_its_last_day():
    assert Clock(day("01-31")).plus(Period(1)) == day("02-28")


# One attempt ----------------------------------------------------------------------------------------------

STEPS = [
    Step(code="a", critical=True, measure=Measure(unit="s", low=5, high=15)),
    Step(code="b", may_skip=True),
    Step(code="c", measure=Measure(unit="s", high=15)),
]


def seen(**words):
    return {"a": Seen("independent", 10), "b": Seen("independent"), "c": Seen("independent", 10)} | words


@pytest.mark.parametrize(
    ("value", "allows"), [(4.9, (False, True)), (5, (True, True)), (15, (True, True)), (15.1, (False, False)), (-1, (False, True))]
)  # fmt: skip
def test_limits_are_inclusive(value, allows):
    assert (STEPS[0].measure.allows(value), STEPS[2].measure.allows(value)) == allows
    assert Measure(unit="s", low=5).allows(value) is (value >= 5)
    assert Measure(unit="s").allows(value)


@pytest.mark.parametrize(
    ("sentence", "words", "mark", "outcome"),
    [
        ("all alone", {}, 100, Outcome.PASSED),
        ("a critical step outside its limits", {"a": Seen("independent", 16)}, 0, Outcome.CRITICAL),
        ("outside, whatever was ticked", {"c": Seen("independent", 16)}, 67, Outcome.NOT_PASSED),
        ("two of three are enough for 66", {"c": Seen("independent", 16)}, 66, Outcome.PASSED),
        ("skipped, so one of two is outside", {"b": Seen("not_applicable"), "c": Seen("independent", 16)}, 50, Outcome.PASSED),
        ("skipped, and 51 is asked", {"b": Seen("not_applicable"), "c": Seen("independent", 16)}, 51, Outcome.NOT_PASSED),
        ("a critical step not seen is before the mark", {"a": Seen("not_seen"), "b": Seen("omitted"), "c": Seen("omitted")}, 100, Outcome.INCOMPLETE),
        ("unseen is not independent", {"c": Seen("not_seen")}, 100, Outcome.INCOMPLETE),
        ("a prompted step with a value within", {"a": Seen("prompted", 10)}, 0, Outcome.CRITICAL),
    ],
)  # fmt: skip
def test_the_outcome_of_measured_steps(sentence, words, mark, outcome):
    assert outcome_of(STEPS, seen(**words), stopped=None, pass_mark=mark) is outcome, sentence


@pytest.mark.parametrize(
    ("second", "qualified", "take", "outcome"),
    [
        (None, True, None, Outcome.PASSED),
        ("omitted", True, None, Outcome.DISPUTED),
        ("omitted", True, "lead", Outcome.PASSED),
        ("omitted", True, "second", Outcome.CRITICAL),
        ("omitted", False, None, Outcome.PASSED),
        ("omitted", False, "second", Outcome.PASSED),
        ("independent", True, None, Outcome.PASSED),
        ("independent", True, "second", Outcome.PASSED),
    ],
)
def test_two_observers(second, qualified, take, outcome):
    said = {"observer": "rn2", "results": {"a": second}} if second else None
    attempt = read_case(data(shown("2025-01-10", second=said))).caregivers[0].records[0]
    steps = [Step(code="a", critical=True)]

    assert judge(attempt, steps, 100, second_is_qualified=qualified, take=take) is outcome


def test_what_was_not_independent():
    found = troubles(STEPS, seen(a=Seen("independent", 16), b=Seen("not_applicable"), c=Seen("not_seen")))

    assert [(step.code, result, outside) for step, result, outside in found] == [
        ("a", "independent", True),
        ("c", "not_seen", False),
    ]


# Editions, facts, programmes ------------------------------------------------------------------------------


def made(number, begins, older=None, **more):
    return Edition(number=number, in_force_from=day(begins), recorded_at=T0, older=older or Older(), **more)


RECHECK = Older(effect=Effect.RECHECK)


@pytest.mark.parametrize(
    ("sentence", "older", "number", "on", "counts"),
    [
        ("stand", [Older()], 1, "12-31", True),
        ("recheck, the day before", [RECHECK], 1, "01-31", True),
        ("recheck, the first day", [RECHECK], 1, "02-01", False),
        ("the newest", [RECHECK], 2, "02-01", True),
        ("by, that day", [Older(effect=Effect.RECHECK_BY, by=day("02-10"))], 1, "02-10", True),
        ("by, the day after", [Older(effect=Effect.RECHECK_BY, by=day("02-10"))], 1, "02-11", False),
        ("every newer one says so", [Older(), RECHECK], 1, "03-01", False),
        ("the third is not in force yet", [Older(), RECHECK], 1, "02-28", True),
        ("an older one's word does not matter", [RECHECK, Older()], 2, "03-01", True),
    ],
)
def test_whether_an_older_edition_counts(sentence, older, number, on, counts):
    editions = [made(1, "01-01"), *(made(n + 2, f"0{n + 2}-01", said) for n, said in enumerate(older))]

    assert edition_is_acceptable(editions, number, day(on)) is counts, sentence


@pytest.mark.parametrize(
    ("facts", "is_met_", "refused"),
    [
        ({}, True, []),
        ({"cuff": "s:air", "oxygen": "b:true"}, True, []),
        ({"cuff": "s:none"}, False, ["cuff"]),
        ({"cuff": "s:air", "oxygen": "b:false"}, False, ["oxygen"]),
        ({"cuff": "s:none", "oxygen": "b:false", "x": "s:y"}, False, ["cuff", "oxygen"]),
    ],
)
def test_a_condition(facts, is_met_, refused):
    condition = Condition((("cuff", frozenset({"s:air", "s:water"})), ("oxygen", frozenset({"b:true"}))))

    assert (condition.is_met(facts), list(condition.refused_by(facts))) == (is_met_, refused)


@pytest.mark.parametrize(
    ("value", "key"), [(True, "b:true"), (False, "b:false"), (1, "n:1.0"), (5.0, "n:5.0"), (5.5, "n:5.5"), ("5", "s:5"), ("true", "s:true")]
)  # fmt: skip
def test_the_key_of_a_fact(value, key):
    assert fact_key(value) == key


def test_the_steps_of_an_attempt_are_those_of_its_role_and_facts():
    air = Condition((("cuff", frozenset({"s:air"})),))
    steps = (Step(code="a"), Step(code="b", roles=frozenset({"lead"})), Step(code="c", applies_when=air), Step(code="d", roles=frozenset({"assist"}), applies_when=air))  # fmt: skip
    checklist = made(1, "01-01", steps=steps)

    def codes(role, facts):
        return "".join(step.code for step in checklist.steps_for(role, facts))

    assert [codes(role, {"cuff": cuff}) for role in ("lead", "assist") for cuff in ("s:air", "s:none")] == [
        "abc",
        "ab",
        "acd",
        "a",
    ]
    assert codes("assist", {}) == "acd"


def test_the_facts_an_edition_asks_about():
    condition = Condition((("cuff", frozenset({"s:air"})), ("oxygen", frozenset({"b:true"}))))
    step = Step(code="a", applies_when=Condition((("size", frozenset({"n:5.0"})),)))

    assert (made(1, "01-01", applies_when=condition, steps=(step,)).asks, made(1, "01-01").asks) == (
        {"cuff", "oxygen", "size"},
        set(),
    )


SKILL = Skill(code="s", editions=(made(1, "01-10"), made(3, "02-10")))


@pytest.mark.parametrize(("on", "number"), [("01-09", None), ("01-10", 1), ("02-09", 1), ("02-10", 3), ("12-31", 3)])
def test_the_edition_in_force(on, number):
    found = SKILL.in_force(day(on))

    assert (found and found.number) == number


def test_an_edition_by_its_number():
    assert [found and found.number for found in map(SKILL.edition, (0, 1, 2, 3))] == [None, 1, None, 3]


def rules(begins, hours=0):
    return Rules(in_force_from=day(begins), recorded_at=T0.replace(hour=8 + hours), sets={}, team=(), items=())


def test_the_rules_in_force_and_their_epochs():
    first, second, newer = rules("01-10"), rules("02-10"), rules("02-10", 1)
    programme = Programme(code="p", skills={}, rules=(first, second, newer))

    assert [programme.rules_on(day(on)) for on in ("01-09", "01-10", "02-09", "02-10")] == [None, first, first, newer]
    assert list(programme.epochs(day("01-01"))) == [
        (day("01-01"), day("01-10"), None),
        (day("01-10"), day("02-10"), first),
        (day("02-10"), date.max, newer),
    ]
    assert list(programme.epochs(day("02-10"))) == [(day("02-10"), date.max, newer)]


def test_a_programme_as_known():
    early, late = rules("01-10"), rules("02-10", 1)
    editions = (made(1, "01-10"), Edition(number=2, in_force_from=day("03-01"), recorded_at=T0.replace(hour=9)))
    programme = Programme(code="p", skills={"s": Skill(code="s", editions=editions)}, rules=(early, late))

    def known(hour):
        found = programme.as_known(T0.replace(hour=hour))
        return found.code, list(found.skills), [e.number for e in found.skills["s"].editions], len(found.rules)

    assert programme.as_known(None) is programme
    assert [known(hour) for hour in (7, 8, 9)] == [("p", ["s"], [], 0), ("p", ["s"], [1], 1), ("p", ["s"], [1, 2], 2)]
    assert programme.as_known(T0).skills["s"].code == "s"


def test_the_facts_asked_about_on_a_day():
    cuff = Condition((("cuff", frozenset({"s:air"})),))
    size = Condition((("size", frozenset({"n:5.0"})),))
    s = Skill(code="s", editions=(made(1, "01-10", applies_when=cuff), made(2, "03-01")))
    t = Skill(code="t", editions=(made(1, "02-01", applies_when=size),))
    programme = Programme(code="p", skills={"s": s, "t": t}, rules=())

    assert [
        set(programme.facts_asked_on(day(on))) for on in ("01-09", "01-10", "01-31", "02-01", "02-28", "03-01")
    ] == [
        set(),
        {"cuff"},
        {"cuff"},
        {"cuff", "size"},
        {"cuff", "size"},
        {"size"},
    ]


# What was known -------------------------------------------------------------------------------------------


def entry(id_, on, hour=8, seconds=-1, **facts):
    return CarePlanEntry(id=id_, recorded_at=T0.replace(hour=hour), on=day(on), facts=facts, seconds=seconds)


@pytest.mark.parametrize(
    ("on", "seconds", "hour", "value"),
    [
        ("01-09", 86_399, 23, None),
        ("01-10", 0, 8, "a"),
        ("01-10", 0, 7, None),
        ("01-20", 36_000, 23, "b"),
        ("01-20", 35_999, 23, "a"),
        ("01-25", 0, 9, "b"),
        ("01-25", 0, 8, "a"),
        ("01-25", 0, 12, "b"),
        ("01-30", 0, 11, "c"),
        ("01-30", 0, 12, "b"),
        ("01-30", 0, 13, "b"),
    ],
)
def test_the_facts_in_force_at_a_moment_as_known_then(on, seconds, hour, value):
    """The third entry is voided at noon."""
    entries = [entry("c", "01-30", x="c"), entry("a", "01-10", x="a"), entry("b", "01-20", 9, 36_000, x="b")]
    memory = PlanMemory(entries, {"c": T0.replace(hour=12)})

    assert memory.facts(day(on), seconds, T0.replace(hour=hour)).get("x") == value


@pytest.mark.parametrize(("hour", "first"), [(7, None), (8, "01-20"), (9, "01-10"), (11, "01-10"), (12, "01-20")])
def test_the_first_day_of_a_care_plan_as_known(hour, first):
    memory = PlanMemory([entry("b", "01-20"), entry("a", "01-10", 9)], {"a": T0.replace(hour=12)})

    assert memory.first_day(T0.replace(hour=hour)) == (first and day(first))


def test_a_plan_without_voids_is_remembered_the_same_way():
    memory = PlanMemory([entry("b", "01-20", 9, x="b"), entry("a", "01-10", x="a")], {"z": T0})

    assert [memory.facts(day("01-25"), 0, T0.replace(hour=h)).get("x") for h in (7, 8, 9)] == [None, "a", "b"]


def test_the_first_of_two_voids_is_when_it_was_voided():
    voids = [Void(id=f"v{h}", recorded_at=T0.replace(hour=h), record=record, reason="r") for h, record in ((9, "a"), (8, "a"), (10, "a"), (11, "b"))]  # fmt: skip

    assert voided_at(voids) == {"a": T0.replace(hour=8), "b": T0.replace(hour=11)}


@pytest.mark.parametrize(
    ("at", "records"),
    [
        (None, ["b"]),
        (datetime(2025, 1, 10, 11, 59, 59, tzinfo=UTC), []),
        (datetime(2025, 1, 10, 12, tzinfo=UTC), ["a"]),
        (datetime(2025, 1, 11, 12, tzinfo=UTC), ["a", "b"]),
        (datetime(2025, 1, 12, 7, 59, 59, tzinfo=UTC), ["a", "b"]),
        (datetime(2025, 1, 12, 8, tzinfo=UTC), ["b"]),
    ],
)
def test_what_is_known_is_recorded_by_then_and_not_yet_voided(at, records):
    void = {"id": "v", "record": "a", "reason": "r", "recorded_at": "2025-01-12T08:00:00Z"}
    known = as_known(read_case(data(shown("2025-01-10", id="a"), shown("2025-01-11", id="b"), voids=[void])), at)

    assert [r.id for r in known.caregivers[0].records] == records


def test_everything_dated_is_known_from_its_instant():
    stamp = {"recorded_at": "2025-01-20T08:00:00Z"}
    rule = {"in_force_from": "2025-02-01", "sets": {}, "team": [], "items": [{"code": "kit"}]} | stamp
    case = read_case(
        data(
            programme={"code": "p", "skills": [skill()], "rules": [rule]},
            qualifications=[{"id": "q", "observer": "rn1", "from": FIRST} | stamp],
            care_plan=[plan(**stamp)],
            authorisations=[{"id": "a", "skill": "s", "from": FIRST} | stamp],
            items=[{"id": "i", "item": "kit", "on": FIRST} | stamp],
            exceptions=[
                {"id": "x", "missing": "team", "from": FIRST, "through": FIRST, "by": "s", "reason": "r"} | stamp
            ],
        )
    )

    def counts(at):
        k = as_known(case, at)
        return [
            len(k.qualifications),
            len(k.care_plan),
            len(k.authorisations),
            len(k.items),
            len(k.exceptions),
            len(k.programme.rules),
        ]

    before, then = datetime(2025, 1, 20, 7, 59, tzinfo=UTC), datetime(2025, 1, 20, 8, tzinfo=UTC)
    assert [counts(at) for at in (before, then, None)] == [[0] * 6, [1] * 6, [1] * 6]


def test_a_care_plan_is_known_in_the_order_it_took_effect():
    plans = [
        plan("2025-01-20", {"x": 1}),
        plan("2025-01-10", {"x": 2}, time="10:00"),
        plan("2025-01-10", {"x": 3}, id="whole day"),
    ]
    known = as_known(read_case(data(care_plan=plans[:2])), None)

    assert ([e.id for e in known.care_plan], known.first_day) == (["p-2025-01-10", "p-2025-01-20"], day("01-10"))
    assert as_known(read_case(data(care_plan=[])), None).first_day is None


@pytest.mark.parametrize(
    ("observer", "code", "on", "is_qualified"),
    [
        ("rn1", "s", "01-09", False),
        ("rn1", "s", "01-10", True),
        ("rn1", "s", "01-20", True),
        ("rn1", "s", "01-21", False),
        ("rn1", "t", "01-10", False),
        ("rn1", "t", "03-01", True),
        ("rn1", "t", "12-31", True),
        ("rn2", "s", "01-10", False),
    ],
)
def test_who_may_assess_what(observer, code, on, is_qualified):
    one = Qualification(id="q", recorded_at=T0, observer="rn1", skill="s", from_day=day("01-10"), through=day("01-20"))
    all_ = Qualification(id="r", recorded_at=T0, observer="rn1", skill=None, from_day=day("03-01"), through=None)

    assert Observers([one, all_]).is_qualified(observer, code, day(on)) is is_qualified


@pytest.mark.parametrize(("on", "through", "holds"), [("01-09", "01-20", False), ("01-10", "01-20", True), ("01-20", "01-20", True), ("01-21", "01-20", False), ("12-31", None, True), ("01-09", None, False)])  # fmt: skip
def test_in_force_for_whole_days(on, through, holds):
    assert in_force(day("01-10"), through and day(through), day(on)) is holds


@pytest.mark.parametrize(("on", "from_day", "through", "here"), [("01-10", None, None, True), ("01-09", "01-10", None, False), ("01-10", "01-10", "01-10", True), ("01-11", None, "01-10", False)])  # fmt: skip
def test_who_is_here(on, from_day, through, here):
    person = Caregiver(id="a", born=None, is_patient=False, from_day=from_day and day(from_day), through=through and day(through), sets=(), records=())  # fmt: skip

    assert person.is_here(day(on)) is here


# Spans ----------------------------------------------------------------------------------------------------


def test_a_line_of_spans():
    line = Line([(day("01-01"), "a"), (day("01-10"), "a"), (day("01-20"), "b"), (day("02-01"), "a")])

    assert (len(line), list(line.starts), list(line.points)) == (
        3,
        days("01-01", "01-20", "02-01"),
        [(day("01-01"), "a"), (day("01-20"), "b"), (day("02-01"), "a")],
    )
    assert list(line) == [
        Span("a", day("01-01"), day("01-19")),
        Span("b", day("01-20"), day("01-31")),
        Span("a", day("02-01"), None),
    ]
    assert [line.span(d) for d in (date(2024, 12, 31), *days("01-01", "01-19", "01-20", "12-31"))] == [
        None,
        *(list(line)[n] for n in (0, 0, 1, 2)),
    ]
    assert [line.on(d) for d in (date(2024, 12, 31), *days("01-01", "01-19", "01-20", "02-01"))] == [
        None,
        "a",
        "a",
        "b",
        "a",
    ]
    assert (len(Line([])), Line([]).on(day("01-01")), Line([]).span(day("01-01"))) == (0, None, None)


@pytest.mark.parametrize(
    ("phase", "attempted", "required", "unusable", "standing"),
    [
        (Phase.CURRENT, True, False, True, Standing.NOT_REQUIRED),
        (Phase.CURRENT, True, True, True, Standing.HELD),
        (Phase.CURRENT, True, True, False, Standing.SIGNED_OFF),
        (Phase.LEARNING, False, True, False, Standing.NOT_STARTED),
        (Phase.LEARNING, True, True, True, Standing.IN_TRAINING),
        (Phase.LAPSED, True, True, True, Standing.LAPSED),
        (Phase.AWAITING, True, True, False, Standing.AWAITING),
        (Phase.WITHDRAWN, False, True, False, Standing.WITHDRAWN),
    ],
)
def test_the_standing_of_a_course(phase, attempted, required, unusable, standing):
    assert standing_of(phase, attempted=attempted, required=required, unusable=unusable) is standing


def test_gates_are_one_graph_from_each_day_on_which_prerequisites_change():
    def needing(number, begins, *skills):
        return edition(number, in_force_from=begins, requires=[{"skill": s} for s in skills])

    s = skill(
        "s",
        needing(1, FIRST, "t"),
        needing(2, "2025-02-01", "t"),
        needing(3, "2025-03-01", "u"),
        needing(4, "2025-04-01"),
    )
    late = skill("late", needing(1, "2025-05-01"), needing(2, "2025-06-01", "t"))
    first = skill("first", needing(1, "2025-07-01", "t"))
    found = history(skills=[s, skill("t"), skill("u"), late, first], care_plan=[plan("2025-01-15")])

    assert gate_epochs(found.plan) == days("01-15", "03-01", "04-01", "06-01", "07-01")
    assert gate_epochs(history(care_plan=[]).plan) == []


@pytest.mark.parametrize(
    ("on", "value"), [("01-09", None), ("01-10", "a"), ("01-19", "a"), ("01-20", "b"), ("12-31", "b")]
)
def test_a_dated_line_is_looked_up(on, value):
    assert look_up([(day("01-10"), "a"), (day("01-20"), "b")], day(on)) == value


# Sets, items, verdict -------------------------------------------------------------------------------------

KIT = ItemRule(code="kit", valid_for=Period(0, 30))


def done(*texts, item="kit"):
    return [ItemDone(id=text, recorded_at=T0, item=item, on=day(text)) for text in texts]


@pytest.mark.parametrize(
    ("sentence", "rule", "when", "points"),
    [
        ("never", KIT, [], []),
        ("once", KIT, ["01-10"], [("01-10", True), ("02-10", False)]),
        ("again before it is out of date", KIT, ["01-10", "01-20"], [("01-10", True), ("02-20", False)]),
        ("again on its last day", KIT, ["01-10", "02-09"], [("01-10", True), ("03-12", False)]),
        ("again the day after", KIT, ["01-10", "02-10"], [("01-10", True), ("03-13", False)]),
        (
            "again a day later",
            KIT,
            ["01-10", "02-11"],
            [("01-10", True), ("02-10", False), ("02-11", True), ("03-14", False)],
        ),
        (
            "in whatever order",
            KIT,
            ["02-11", "01-10"],
            [("01-10", True), ("02-10", False), ("02-11", True), ("03-14", False)],
        ),
        ("twice in one day", KIT, ["01-10", "01-10"], [("01-10", True), ("02-10", False)]),
        ("never out of date", ItemRule(code="kit"), ["01-10", "02-10"], [("01-10", True)]),
        ("another item", ItemRule(code="home"), ["01-10"], []),
    ],
)
def test_when_an_item_is_in_date(sentence, rule, when, points):
    assert item_points(rule, done(*when)) == [(day(on), value) for on, value in points], sentence


@pytest.mark.parametrize(
    ("missing", "verdict"),
    [
        ([], Verdict.READY),
        ([True], Verdict.READY_BY_EXCEPTION),
        ([True, False], Verdict.NOT_READY),
        ([False], Verdict.NOT_READY),
    ],
)
def test_the_verdict(missing, verdict):
    assert verdict_on([Missing("x", excepted) for excepted in missing]) is verdict


SIGNED_OFF, TRAINING, NOT_REQUIRED = Standing.SIGNED_OFF, Standing.IN_TRAINING, Standing.NOT_REQUIRED


def held(sets, start="01-01", end="12-31", **lines):
    made_lines = {code: Line([(day(on), value) for on, value in points]) for code, points in lines.items()}
    return [
        (on.isoformat()[5:], "".join(sorted(names)))
        for on, names in held_points(sets, made_lines, day(start), day(end))
    ]


def test_a_set_is_held_from_day_to_day():
    a = [("01-01", TRAINING), ("01-10", SIGNED_OFF), ("02-01", Standing.LAPSED)]
    b = [("01-01", NOT_REQUIRED), ("01-20", TRAINING), ("01-25", SIGNED_OFF)]

    assert held({"f": ["a", "b"], "d": ["a"]}, a=a, b=b) == [
        ("01-01", ""),
        ("01-10", "df"),
        ("01-20", "d"),
        ("01-25", "df"),
        ("02-01", ""),
    ]


def test_a_set_in_which_nothing_is_required_any_more_is_held_by_nobody():
    assert held({"f": ["a"]}, a=[("01-01", SIGNED_OFF), ("01-10", NOT_REQUIRED), ("01-20", SIGNED_OFF)]) == [
        ("01-01", "f"),
        ("01-10", ""),
        ("01-20", "f"),
    ]


def test_two_changes_of_one_day_are_one():
    assert held(
        {"f": ["a", "b"]},
        a=[("01-01", TRAINING), ("01-10", SIGNED_OFF)],
        b=[("01-01", SIGNED_OFF), ("01-10", TRAINING)],
    ) == [
        ("01-01", ""),
        ("01-10", ""),
    ]


def test_sets_begin_and_end_with_their_rules():
    a = [("01-01", TRAINING), ("01-10", SIGNED_OFF), ("02-01", TRAINING), ("03-01", SIGNED_OFF)]

    assert held({"f": ["a"]}, "01-10", "03-01", a=a) == [("01-10", "f"), ("02-01", "")]
    assert held({"f": ["a"]}, "01-11", "02-01", a=a) == [("01-11", "f")]
    assert held({"f": ["a"]}, "01-01", "01-10", a=[("01-05", SIGNED_OFF)]) == [("01-01", ""), ("01-05", "f")]


def stay(from_day=None, through=None, start="01-01", end="12-31"):
    person = Caregiver(id="a", born=None, is_patient=False, from_day=from_day and day(from_day), through=through and day(through), sets=(), records=())  # fmt: skip
    points = [(day("01-05"), frozenset("f")), (day("02-01"), frozenset())]
    return [(on.isoformat()[5:], "".join(names)) for on, names in within_stay(points, person, day(start), day(end))]


@pytest.mark.parametrize(
    ("from_day", "through", "points"),
    [
        ("01-10", None, [("01-05", ""), ("01-10", "f"), ("02-01", "")]),
        (None, "01-20", [("01-05", "f"), ("01-21", ""), ("02-01", "")]),
        ("01-10", "01-20", [("01-05", ""), ("01-10", "f"), ("01-21", ""), ("02-01", "")]),
        ("01-02", None, [("01-02", ""), ("01-05", "f"), ("02-01", "")]),
    ],
)
def test_nothing_is_held_by_who_is_not_here(from_day, through, points):
    assert stay(from_day, through) == points


def test_a_stay_says_nothing_outside_the_rules_it_is_asked_for():
    assert stay("01-10", "01-20", "01-05", "01-10") == [("01-05", ""), ("02-01", "")]


# Teams ----------------------------------------------------------------------------------------------------

MARCH = date(2025, 3, 1)


def person(name, *sets, born="1990-01-01", is_patient=False):
    return Person(name, born and date.fromisoformat(born), is_patient, frozenset(sets))


def asks(*rows, name="it", **more):
    return Alternative(name=name, people=tuple(People(set=s, count=n, minimum_age=age) for s, n, age in rows), **more)


@pytest.mark.parametrize(
    ("who", "age", "fits_"),
    [
        (person("a", "full"), None, True),
        (person("a", "day"), None, False),
        (person("a", "full", born="2007-03-01"), 18, True),
        (person("a", "full", born="2007-03-02"), 18, False),
        (person("a", "full", born=None), 18, False),
        (person("a", "full", born=None), 0, False),
        (person("a", "full", born=None), None, True),
        (person("a", "day", born="2000-01-01"), 18, False),
    ],
)
def test_who_fits_a_row(who, age, fits_):
    assert fits(who, People(set="full", count=1, minimum_age=age), MARCH) is fits_


@pytest.mark.parametrize(
    ("sentence", "rows", "people", "places", "filled"),
    [
        ("nobody", [("full", 2, None)], [], 2, []),
        ("one of two", [("full", 2, None)], [person("a", "full")], 2, ["a"]),
        ("two of two", [("full", 2, None)], [person("a", "full"), person("b", "full")], 2, ["a", "b"]),
        ("no more than there are places", [("full", 1, None)], [person("a", "full"), person("b", "full")], 1, ["a"]),
        ("each place after the other", [("full", 1, None), ("day", 2, None)], [person("a", "day"), person("b", "full", "day"), person("c", "day")], 3, ["a", "b", "c"]),
        ("the only one who can gives way", [("full", 1, None), ("day", 1, None)], [person("a", "full", "day"), person("b", "full")], 2, ["a", "b"]),
        ("along a chain", [("x", 1, None), ("y", 1, None), ("z", 1, None)], [person("a", "x", "y"), person("b", "x", "z"), person("c", "x")], 3, ["a", "b", "c"]),
        ("a chain that fails leaves all as it was", [("x", 1, None)], [person("a", "x"), person("b", "x"), person("c", "x")], 1, ["a"]),
        ("too young for the first row", [("full", 1, 18), ("full", 1, None)], [person("a", "full", born="2010-01-01")], 2, ["a"]),
        ("the patient is not a team of one", [("full", 1, None)], [person("a", "full", is_patient=True)], 1, []),
        ("but one of two", [("full", 2, None)], [person("a", "full", is_patient=True)], 2, ["a"]),
    ],
)  # fmt: skip
def test_who_fills_which_place(sentence, rows, people, places, filled):
    alternative = asks(*rows)
    found = match(alternative, people, MARCH)
    by_name = {p.id: p for p in people}
    row_of = [row for row in alternative.people for _ in range(row.count)]

    assert (found[0], sorted(found[1].values())) == (places, filled), sentence
    assert all(fits(by_name[name], row_of[place], MARCH) for place, name in found[1].items())


def test_the_patient_alone_where_it_says_so():
    patient = [person("a", "full", is_patient=True)]

    assert match(asks(("full", 1, None), patient_alone=True), patient, MARCH) == (1, {0: "a"})
    assert team_is_met(asks(("full", 1, None)), patient, MARCH) is False


def test_the_first_that_is_met_and_the_nearest():
    two, one, day_ = (
        asks(("full", 2, None), name="two"),
        asks(("full", 1, None), name="one"),
        asks(("day", 1, None), name="day"),
    )
    people = [person("a", "full", "day")]

    assert first_met([two, one, day_], people, MARCH) is one
    assert first_met([two], people, MARCH) is None
    assert first_met([], people, MARCH) is None
    assert nearest([two, asks(("night", 1, None), name="night")], people, MARCH) is two
    assert nearest([two, one, day_], people, MARCH) is one
    assert nearest([two, day_], [], MARCH) is day_
    assert nearest([], people, MARCH) is None


# A family through time ------------------------------------------------------------------------------------


def family(*people, teams=(), items=(), rules_=None, **changes):
    made_rules = {
        "in_force_from": FIRST,
        "recorded_at": EARLY,
        "sets": {"full": ["s"], "day": ["t"]},
        "team": list(teams),
        "items": list(items),
    }
    programme = {
        "code": "p",
        "skills": [skill("s", edition(standard=standard(valid_for="P1M", grace="P0D"))), skill("t")],
        "rules": rules_ or [made_rules],
    }
    return history(programme=programme, caregivers=list(people), **changes)


def caregiver(name, *codes, born="1990-05-01", **more):
    return {
        "id": name,
        "born": born,
        "sets": ["full"],
        "records": [shown("2025-01-10", code=c, id=f"{name}-{c}") for c in codes],
    } | more


def verdicts(found):
    return [f"{s.start.isoformat()[5:]} {s.value.value}" for s in found.readiness.line]


ONE = {"name": "one", "people": [{"set": "full", "count": 1}]}


@pytest.mark.parametrize(
    ("sentence", "person_", "expected"),
    [
        ("while signed off", {}, ["01-01 not_ready", "01-10 ready", "02-11 not_ready"]),
        ("from the day of arrival", {"from": "2025-01-15"}, ["01-01 not_ready", "01-15 ready", "02-11 not_ready"]),
        (
            "through the day of leaving",
            {"through": "2025-01-20"},
            ["01-01 not_ready", "01-10 ready", "01-21 not_ready"],
        ),
    ],
)
def test_a_family_is_ready(sentence, person_, expected):
    assert verdicts(family(caregiver("a", "s", **person_), teams=[ONE])) == expected, sentence


def test_a_birthday_makes_a_family_ready():
    adult = {"name": "one", "people": [{"set": "full", "count": 1, "minimum_age": 18}]}

    assert verdicts(family(caregiver("a", "s", born="2007-01-20"), teams=[adult])) == [
        "01-01 not_ready",
        "01-20 ready",
        "02-11 not_ready",
    ]
    assert verdicts(family(caregiver("a", "s", born=None), teams=[adult])) == ["01-01 not_ready"]


def test_the_team_that_is_met_changes_with_who_is_signed_off():
    other_ = {"name": "day", "people": [{"set": "day", "count": 1}]}
    found = family(caregiver("a", "s"), caregiver("b", "t"), teams=[ONE, other_])

    assert [found.readiness.team_met_by(day(on)).name if found.readiness.team_met_by(day(on)) else None for on in ("01-09", "01-10", "02-10", "02-11")] == [None, "one", "one", "day"]  # fmt: skip


def test_items_in_their_order_then_facts_by_name():
    items = [{"code": "kit"}, {"code": "home", "valid_for": "P1D"}]
    asking = [skill("s", edition(applies_when={"oxygen": [True], "cuff": ["none"]}, steps=[{"code": "a", "applies_when": {"ventilator": [True]}}])), skill("t")]  # fmt: skip
    rule = {"in_force_from": FIRST, "recorded_at": EARLY, "sets": {"full": ["s"]}, "team": [ONE], "items": items}
    stamp = {"recorded_at": "2025-01-05T08:00:00Z"}
    found = history(
        programme={"code": "p", "skills": asking, "rules": [rule]},
        items=[{"id": "i", "item": "home", "on": "2025-01-05"} | stamp],
        exceptions=[
            {"id": "x", "missing": "item:kit", "from": "2025-01-05", "through": "2025-01-06", "by": "b", "reason": "r"}
            | stamp
        ],
    )

    def missing(on):
        return [f"{m.code}{'*' if m.excepted else ''}" for m in found.readiness.missing(day(on))]

    assert missing("01-01") == ["team", "item:kit", "item:home", "fact:oxygen", "fact:ventilator"]
    assert missing("01-06") == ["team", "item:kit*", "fact:oxygen", "fact:ventilator"]
    assert missing("01-07") == ["team", "item:kit", "item:home", "fact:oxygen", "fact:ventilator"]
    assert found.readiness.missing(date(2024, 12, 31)) == []


def test_newer_rules_apply_from_their_first_day():
    def rule(begins, sets):
        return {
            "in_force_from": begins,
            "recorded_at": EARLY,
            "sets": sets,
            "team": [{"name": "one", "people": [{"set": next(iter(sets)), "count": 1}]}],
        }

    found = family(caregiver("a", "s", through="2026-01-01"), rules_=[rule(FIRST, {"full": ["s"]}), rule("2025-01-20", {"wide": ["s", "t"]}), rule("2025-02-01", {"full": ["s"]})])  # fmt: skip

    assert verdicts(found) == ["01-01 not_ready", "01-10 ready", "01-20 not_ready", "02-01 ready", "02-11 not_ready"]
    assert [found.readiness.held_sets(found.caregivers["a"], day(on)) for on in ("01-19", "01-20", "02-01")] == [{"full": True}, {"wide": False}, {"full": True}]  # fmt: skip


def test_before_any_rules_no_set_is_held_and_the_team_is_missing():
    rule = {
        "in_force_from": "2025-01-15",
        "recorded_at": EARLY,
        "sets": {"full": ["s"]},
        "team": [ONE],
        "items": [{"code": "kit"}],
    }
    found = family(caregiver("a", "s"), rules_=[rule])

    assert found.readiness.held_sets(found.caregivers["a"], day("01-14")) == {}
    assert [[m.code for m in found.readiness.missing(day(on))] for on in ("01-14", "01-15")] == [["team"], ["item:kit"]]


def test_the_sets_of_a_stay_touch_and_never_overlap():
    """Somebody comes on the first day of newer rules."""

    def rule(begins, name):
        return {"in_force_from": begins, "recorded_at": EARLY, "sets": {name: ["s"]}, "team": []}

    found = family(
        caregiver("a", "s", **{"from": "2025-01-20"}), rules_=[rule(FIRST, "full"), rule("2025-01-20", "wide")]
    )

    assert [(s.start.isoformat()[5:], sorted(s.value)) for s in found.readiness.held_line(found.caregivers["a"])] == [("01-01", []), ("01-20", ["wide"]), ("02-11", [])]  # fmt: skip


def test_without_a_care_plan_there_is_no_line():
    found = family(caregiver("a"), teams=[ONE], care_plan=[])

    assert (len(found.readiness.line), found.readiness.team_met_by(MARCH), found.readiness.missing(MARCH)) == (
        0,
        None,
        [],
    )
    assert len(found.readiness.held_line(found.caregivers["a"])) == 0


# What a caregiver may practise, and is asked for ----------------------------------------------------------


def may_practise(on, *records, code="s", **changes):
    found = history(*records, **changes)
    return found.skill_on(day(on), found.at_end_of(day(on), "ana"), code).may_practise


GATED = [skill("s", edition(requires=[{"skill": "t"}], standard=standard(valid_for="P1M", grace="P10D"))), skill("t")]
WORD = {"id": "a", "skill": "s", "from": "2025-01-02", "through": "2025-01-20", "recorded_at": "2025-01-02T08:00:00Z"}
OPENED = [shown("2025-01-09", code="t"), shown("2025-01-10")]
SHUT = [*OPENED, other("withdrawal", "2025-01-15", skill="t", reason="r", cover="c")]


@pytest.mark.parametrize(
    ("sentence", "on", "records", "changes", "may"),
    [
        ("no gate", "01-01", [], {}, True),
        ("the gate is closed", "01-05", [], {"skills": GATED}, False),
        ("the gate is open", "01-09", OPENED[:1], {"skills": GATED}, True),
        ("current, whatever the gate", "02-10", SHUT, {"skills": GATED}, True),
        ("lapsed within grace, whatever the gate", "02-20", SHUT, {"skills": GATED}, True),
        ("the day after grace", "02-21", SHUT, {"skills": GATED}, False),
        ("lapsed, and the gate is open", "02-21", OPENED, {"skills": GATED}, True),
        ("on hold", "01-10", [other("hold", "2025-01-10", through="2025-01-10")], {}, False),
        ("the day after the hold", "01-11", [other("hold", "2025-01-10", through="2025-01-10")], {}, True),
        (
            "not authorised yet",
            "01-01",
            [],
            {"skills": [skill("s", edition(needs_authorisation=True))], "authorisations": [WORD]},
            False,
        ),
        (
            "authorised",
            "01-20",
            [],
            {"skills": [skill("s", edition(needs_authorisation=True))], "authorisations": [WORD]},
            True,
        ),
        (
            "no longer",
            "01-21",
            [],
            {"skills": [skill("s", edition(needs_authorisation=True))], "authorisations": [WORD]},
            False,
        ),
        ("not required", "01-05", [], {"skills": [skill("s", edition(applies_when={"cuff": ["air"]}))]}, False),
        ("no edition", "01-05", [], {"skills": [skill("s", edition(in_force_from="2025-02-01"))]}, False),
        ("no care plan", "01-05", [], {"care_plan": [plan("2025-02-01")]}, False),
    ],
)
def test_what_may_be_practised(sentence, on, records, changes, may):
    assert may_practise(on, *records, **changes) is may, sentence


def test_what_a_caregiver_is_asked_for_is_in_their_sets():
    rule = {"in_force_from": "2025-01-15", "recorded_at": EARLY, "sets": {"full": ["s", "t"], "day": ["s"]}, "team": []}
    people = [{"id": "ana", "sets": ["day"]}, {"id": "ben", "sets": []}, {"id": "cleo", "sets": ["day", "full"]}]
    programme = {"code": "p", "skills": [skill("s"), skill("t")], "rules": [rule]}
    found = history(programme=programme, caregivers=people)

    def asked(who, on):
        return "".join(code for code in ("s", "t") if found.is_asked(found.caregivers[who], code, day(on)))

    assert [asked(who, "01-15") for who in ("ana", "ben", "cleo")] == ["s", "", "st"]
    assert asked("cleo", "01-14") == ""


@pytest.mark.parametrize(
    ("on", "records", "last_day"),
    [
        ("01-09", [shown("2025-01-10")], None),
        ("01-10", [shown("2025-01-10")], "02-10"),
        ("02-11", [shown("2025-01-10")], "02-10"),
        ("01-20", [shown("2025-01-10"), other("withdrawal", "2025-01-15", reason="r", cover="c")], None),
    ],
)
def test_the_last_day_is_given_while_there_is_a_clock(on, records, last_day):
    found = history(*records, skills=[skill("s", edition(standard=standard(valid_for="P1M")))])

    assert found.skill_on(day(on), found.at_end_of(day(on), "ana"), "s").last_day == (last_day and day(last_day))


def test_a_waiting_skill_has_no_last_day_yet():
    found = history(
        shown("2025-01-10"), skills=[skill("s", edition(standard=standard(valid_for="P1M", signatures=["educator"])))]
    )

    assert found.skill_on(day("01-12"), found.at_end_of(day("01-12"), "ana"), "s").last_day is None


def test_a_history_as_known_and_its_parts():
    found = FamilyHistory(read_case(data(shown("2025-01-10"))), datetime(2025, 1, 9, tzinfo=UTC))

    assert (list(found.sweeps), list(found.standings), found.sweeps["ana"].judged) == (["ana"], ["ana"], {})
    assert (LEARNING, ALWAYS.is_met({})) == ("learning", True)


# Gates that change with the edition -----------------------------------------------------------------------


def test_gates_that_change_from_edition_to_edition():
    """From 1 February s needs nothing, from 1 March u, from 1 April t again; t is shown for ten days each time."""

    def needing(number, begins, *skills):
        return edition(number, in_force_from=begins, requires=[{"skill": s} for s in skills])

    s = skill(
        "s",
        needing(1, FIRST, "t"),
        needing(2, "2025-02-01"),
        needing(3, "2025-03-01", "u"),
        needing(4, "2025-04-01", "t"),
    )
    t = skill("t", edition(standard=standard(valid_for="P10D")))
    records = [
        shown("2025-01-09", code="t"),
        shown("2025-01-10"),
        other("hold", "2025-02-10", through="2025-02-12"),
        shown("2025-03-10", code="u"),
        other("hold", "2025-03-20", skill="u", through="2025-03-22"),
        shown("2025-03-25", code="t"),
    ]
    line = list(history(*records, skills=[s, t, skill("u")]).line("ana", "s"))

    assert [f"{span.start.isoformat()[5:]} {span.value.value}" for span in line] == [
        "01-01 not_started",
        "01-10 signed_off",
        "01-20 held",
        "02-01 signed_off",
        "02-10 held",
        "02-13 signed_off",
        "03-01 held",
        "03-10 signed_off",
        "03-20 held",
        "03-23 signed_off",
        "04-05 held",
    ]
    assert [a.through.toordinal() + 1 for a in line[:-1]] == [b.start.toordinal() for b in line[1:]]


# The events of a plan -------------------------------------------------------------------------------------


def test_the_events_of_a_plan_in_their_order():
    """Editions first in their day; the first of a skill says so, and which facts changed is by their last stated value."""
    s = skill(
        "s", edition(in_force_from="2025-01-10", applies_when={"cuff": ["air"]}), edition(2, in_force_from="2025-01-20")
    )
    plans = [
        plan("2025-01-10", {"cuff": "none"}),
        plan("2025-01-15", {"size": 5}),
        plan("2025-01-20", {"cuff": "air", "size": 5}),
    ]
    found = history(skills=[s], care_plan=plans).plan

    assert [
        (e.moment[0].isoformat()[5:], e.edition.number, e.is_first, e.is_required)
        if isinstance(e, EditionStarts)
        else (e.moment[0].isoformat()[5:], dict(e.changed), dict(e.stated), dict(e.required), e.is_first)
        for e in found.events
    ] == [
        ("01-10", 1, True, True),
        ("01-10", {}, {"cuff": "s:none"}, {"s": False}, True),
        ("01-15", {}, {"cuff": "s:none", "size": "n:5.0"}, {"s": True}, False),
        ("01-20", 2, False, True),
        ("01-20", {"cuff": "s:air"}, {"cuff": "s:air", "size": "n:5.0"}, {"s": True}, False),
    ]
    assert found.required["s"] == [(day("01-10"), False), (day("01-15"), True)]
    assert [found.is_required("s", day(on)) for on in ("01-09", "01-10", "01-14", "01-15", "12-31")] == [
        False,
        False,
        False,
        True,
        True,
    ]
    assert [found.facts_on(day(on)) for on in ("01-09", "01-10", "01-15")] == [
        {},
        {"cuff": "s:none"},
        {"size": "n:5.0"},
    ]


def test_what_is_required_and_not_within_one_day_is_as_it_is_at_its_end():
    plans = [
        plan("2025-01-10", {"cuff": "air"}),
        plan("2025-01-20", {"cuff": "none"}),
        plan("2025-01-21", {"cuff": "air"}),
    ]
    s = skill(
        "s",
        edition(applies_when={"cuff": ["air"]}),
        edition(2, in_force_from="2025-01-20", applies_when={"cuff": ["none"]}),
    )
    found = history(skills=[s], care_plan=plans).plan

    assert found.required["s"] == [(day("01-01"), True), (day("01-21"), False)]


def test_what_a_plan_says_of_a_skill_day_by_day():
    s = skill(
        "s", edition(in_force_from="2025-01-10", needs_authorisation=True), edition(2, in_force_from="2025-02-10")
    )
    word = {"id": "a", "skill": "s", "from": "2025-01-15", "through": "2025-01-20", "recorded_at": EARLY}
    found = history(skills=[s], authorisations=[word]).plan

    assert [
        (on.isoformat()[5:], c.required, c.authorised, c.edition and c.edition.number) for on, c in found.called("s")
    ] == [
        ("01-10", True, False, 1),
        ("01-15", True, True, 1),
        ("01-21", True, False, 1),
        ("02-10", True, True, 2),
    ]


def test_a_plan_whose_every_entry_is_voided_is_remembered_until_then():
    memory = PlanMemory([entry("a", "01-10", x="a")], {"a": T0.replace(hour=12)})

    assert [memory.first_day(T0.replace(hour=hour)) for hour in (11, 12)] == [day("01-10"), None]


def test_a_set_of_other_rules_asks_for_nothing():
    def rule(begins, name):
        return {"in_force_from": begins, "recorded_at": EARLY, "sets": {name: ["s"]}, "team": []}

    programme = {"code": "p", "skills": [skill("s")], "rules": [rule(FIRST, "old"), rule("2025-02-01", "new")]}
    found = history(programme=programme, caregivers=[{"id": "ana", "sets": ["old"]}])

    assert [found.is_asked(found.caregivers["ana"], "s", day(on)) for on in ("01-31", "02-01")] == [True, False]


def test_a_skill_on_a_day_names_itself():
    found = history(skills=[skill("s"), skill("t")])

    assert [found.skill_on(day("01-10"), found.at_end_of(day("01-10"), "ana"), code).skill for code in "st"] == [
        "s",
        "t",
    ]
