"""Computed checks under a care plan: what is allowed, whether the order agrees, and what settings are refused."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest

from competency.figures.checks import Checks, findings
from competency.figures.reading import read_checks

FACTS = {
    "tube_id_mm": "mm", "catheter_fr": "Fr", "suction_mmhg": "mmHg", "suction_kpa": "kPa", "suction_s": "s",
    "cuff_mmhg": "mmHg", "cuff_cmh2o": "cmH2O", "age_group": None, "cuff": None,
}  # fmt: skip
CATHETER = {"tube": "tube_id_mm", "order": "catheter_fr", "per_cent": 50, "source": "AARC 2010, rec. 9"}
VACUUM = {
    "code": "vacuum", "title": "Vacuum", "order": "suction_mmhg", "unit": "mmHg", "by": "age_group",
    "limits": {
        "neonate": {"low": 60, "high": 80, "source": "Ireton 2007; T11"},
        "child": {"high": 120, "source": "AARC 2022, as a digest gives it; T10"},
        "adult": {"high": 200, "source": "AARC 2022, as a digest gives it; T09"},
    },
}  # fmt: skip
SECONDS = {
    "code": "seconds", "title": "One pass", "order": "suction_s", "unit": "s", "by": "age_group",
    "limits": {
        "child": {"high": 5, "source": "ATS 2000; T13"},
        "adult": {"high": 15, "source": "AARC 2010, rec. 10; T12"},
    },
}  # fmt: skip
CUFF = {
    "code": "cuff", "title": "Cuff", "order": "cuff_mmhg", "unit": "cmH2O",
    "limits": {"all": {"low": 20, "high": 30, "source": "a secondary summary; facts 2.03"}},
}  # fmt: skip
SPARES = {"tube": "tube_id_mm", "step_mm": 0.5, "source": "facts 2.50, 2.51"}


def read(**settings):
    problems = []
    checks = read_checks(settings, FACTS, problems)
    return checks, [(p.path, p.message) for p in problems]


def found(stated, **settings):
    checks, problems = read(**settings)
    assert problems == []
    return next(findings(checks, stated, {k: v for k, v in FACTS.items() if v}))


@pytest.mark.parametrize(
    ("tube", "ordered", "high", "agrees"),
    [(6, 8, 8, True), (6, 10, 8, False), (Decimal("4.5"), 6, 6, True), (6, None, 8, None), (3, 5, None, False)],
)
def test_the_catheter(tube, ordered, high, agrees):
    one = found({"tube_id_mm": tube, "catheter_fr": ordered}, catheter=CATHETER)

    assert (one.high, one.agrees) == (high, agrees)
    assert one.nothing_fits is (high is None)


@pytest.mark.parametrize(
    ("by", "strictly", "agrees"), [("diameter", False, True), ("diameter", True, False), ("area", True, True)]
)
def test_the_programme_chooses_the_rule(by, strictly, agrees):
    """facts.md, conflict C2, and key result c of 1.3: 12 Fr in 8.0 is just half."""
    settings = CATHETER | {"by": by, "strictly_below": strictly}

    assert found({"tube_id_mm": 8, "catheter_fr": 12}, catheter=settings).agrees is agrees


@pytest.mark.parametrize(
    ("source", "check", "stated", "agrees"),
    [
        ("T09: at the ceiling", VACUUM, {"age_group": "adult", "suction_mmhg": 200}, True),
        ("T09: above it", VACUUM, {"age_group": "adult", "suction_mmhg": 201}, False),
        ("T10", VACUUM, {"age_group": "child", "suction_mmhg": 120}, True),
        ("T10", VACUUM, {"age_group": "child", "suction_mmhg": 121}, False),
        ("T11: below the range", VACUUM, {"age_group": "neonate", "suction_mmhg": 59}, False),
        ("T11", VACUUM, {"age_group": "neonate", "suction_mmhg": 60}, True),
        ("T12", SECONDS, {"age_group": "adult", "suction_s": 15}, True),
        ("T12", SECONDS, {"age_group": "adult", "suction_s": Decimal("15.1")}, False),
        ("T13", SECONDS, {"age_group": "child", "suction_s": 5}, True),
        ("T13", SECONDS, {"age_group": "child", "suction_s": 6}, False),
        ("C3: 25 mmHg fails a ceiling of 30 cmH2O", CUFF, {"cuff_mmhg": 25}, False),
        ("2.1: 22 mmHg is 29.91 cmH2O", CUFF, {"cuff_mmhg": 22}, True),
        ("2.1: 15 mmHg is 20.39 cmH2O", CUFF, {"cuff_mmhg": 15}, True),
        ("2.1: 14 mmHg is 19.03 cmH2O", CUFF, {"cuff_mmhg": 14}, False),
        ("nothing ordered", CUFF, {}, None),
    ],
)
def test_an_order_inside_or_outside_a_range(source, check, stated, agrees):
    assert found(stated, ranges=[check]).agrees is agrees, source


def test_an_ordered_pressure_is_shown_in_the_unit_of_the_limits():
    """The relief valve of the trade: 25 mmHg is about 34 cmH2O, above 20 to 30."""
    one = found({"cuff_mmhg": 25}, ranges=[CUFF])

    assert (round(float(one.ordered), 2), one.low, one.high, one.unit) == (33.99, 20, 30, "cmH2O")


@pytest.mark.parametrize("stated", [{}, {"age_group": "teenager"}])
def test_without_the_fact_that_chooses_nothing_is_computed(stated):
    one = found(stated | {"suction_mmhg": 100}, ranges=[VACUUM])

    assert (one.agrees, one.lacks, one.ordered) == (None, "age_group", 100)


@pytest.mark.parametrize("tube", [None, 0, "5", True])
def test_without_a_tube_no_catheter_and_no_spare_is_computed(tube):
    stated = {"tube_id_mm": tube, "catheter_fr": 8}

    assert (found(stated, catheter=CATHETER).lacks, found(stated, spares=SPARES).lacks) == ("tube_id_mm",) * 2


def test_the_spares():
    one = found({"tube_id_mm": Decimal("5.5")}, spares=SPARES)

    assert one.sizes == (Fraction("5.5"), 5)


def test_checks_come_in_one_order():
    checks, _ = read(catheter=CATHETER, spares=SPARES, ranges=[VACUUM, CUFF])

    assert [f.check for f in findings(checks, {}, {})] == ["catheter", "vacuum", "cuff", "spares"]


def test_a_programme_may_want_none():
    assert read() == (Checks(), [])
    assert list(findings(Checks(), {}, {})) == []


@pytest.mark.parametrize(
    ("wanted", "path"),
    [
        ({"catheter": CATHETER | {"tube": "width"}}, "checks.catheter.tube"),
        ({"catheter": CATHETER | {"tube": "cuff"}}, "checks.catheter.tube"),
        ({"catheter": CATHETER | {"order": "suction_s"}}, "checks.catheter.order"),
        ({"catheter": CATHETER | {"per_cent": 0}}, "checks.catheter.per_cent"),
        ({"catheter": CATHETER | {"per_cent": 100}}, "checks.catheter.per_cent"),
        ({"catheter": CATHETER | {"by": "volume"}}, "checks.catheter.by"),
        ({"catheter": {k: v for k, v in CATHETER.items() if k != "source"}}, "checks.catheter.source"),
        ({"catheter": CATHETER | {"colour": "blue"}}, "checks.catheter.colour"),
        ({"spares": SPARES | {"step_mm": 0}}, "checks.spares.step_mm"),
        ({"ranges": [CUFF | {"order": "suction_s"}]}, "checks.ranges[0].order"),
        ({"ranges": [CUFF | {"limits": {}}]}, "checks.ranges[0].limits"),
        ({"ranges": [VACUUM | {"by": "height"}]}, "checks.ranges[0].by"),
        ({"ranges": [{k: v for k, v in VACUUM.items() if k != "by"}]}, "checks.ranges[0].by"),
        ({"ranges": [CUFF | {"limits": {"all": {"low": 30, "high": 20, "source": "s"}}}]}, "checks.ranges[0].limits.all.low"),
        ({"ranges": [CUFF | {"limits": {"all": {"source": "s"}}}]}, "checks.ranges[0].limits.all.high"),
        ({"ranges": [CUFF, CUFF]}, "checks.ranges[1].code"),
        ({"ranges": [CUFF | {"code": "spares"}]}, "checks.ranges[0].code"),
        ({"ranges": {}}, "checks.ranges"),
        ({"tube": {"inner": "tube_id_mm", "outer": "suction_s"}}, "checks.tube.outer"),
        ({"tube": {"inner": "tube_id_mm"}}, "checks.tube.outer"),
        ({"glue": 1}, "checks.glue"),
    ],
)  # fmt: skip
def test_settings_are_refused_by_their_path(wanted, path):
    assert [at for at, _ in read(**wanted)[1]] == [path]


def test_all_problems_are_named_at_once():
    _, problems = read(catheter=CATHETER | {"tube": "width", "per_cent": 0}, ranges=[CUFF | {"order": "nothing"}])

    assert [path for path, _ in problems] == [
        "checks.catheter.tube",
        "checks.catheter.per_cent",
        "checks.ranges[0].order",
    ]
