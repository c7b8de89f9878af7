"""One attempt's outcome (design 4.1), the published pass rule among the rows."""

from datetime import date, datetime

import pytest

from competency.programme import Condition, Edition, Measure, Step, fact_key
from competency.records import Seen
from competency.scoring import Outcome, outcome_of
from tests.competency.build import EARLY, FIRST


def steps(count, critical=0):
    return [Step(code=str(n), critical=n < critical) for n in range(count)]


def results(*words):
    return {str(n): Seen(word) for n, word in enumerate(words)}


def counted(**words):
    """So many steps of each result, in the order given."""
    return results(*[word for word, n in words.items() for _ in range(n)])


@pytest.mark.parametrize(
    ("source", "seen", "mark", "outcome"),
    [
        ("Stork Poeppelman 2022, facts 6.20: 16 of 20", counted(independent=16, omitted=4), 80, Outcome.PASSED),
        ("Stork Poeppelman 2022, facts 6.20: 15 of 20", counted(independent=15, omitted=5), 80, Outcome.NOT_PASSED),
        ("facts 6.20: 13 of 16 is 81.25 %", counted(independent=13, assisted=3), 80, Outcome.PASSED),
        ("facts 6.20: 12 of 16 is 75 %", counted(independent=12, assisted=4), 80, Outcome.NOT_PASSED),
        ("scenario 3: 39 of 49 is 79.6 %, not rounded", counted(independent=39, prompted=10), 80, Outcome.NOT_PASSED),
        ("scenario 3: 40 of 50 is 80 %", counted(independent=40, prompted=10), 80, Outcome.PASSED),
        ("4.1: unseen steps could still bring it there", counted(independent=7, not_seen=1, omitted=2), 80, Outcome.INCOMPLETE),
        ("4.1: even unseen steps could not", counted(independent=7, not_seen=1, omitted=3), 80, Outcome.NOT_PASSED),
        ("4.1: it is there without the unseen step", counted(independent=8, not_seen=1, omitted=1), 80, Outcome.PASSED),
        ("4.1: every unseen step could", counted(independent=7, not_seen=2, omitted=1), 90, Outcome.INCOMPLETE),
        ("scenario 3: 39 of 49, the rest unseen", counted(independent=39, not_seen=10), 80, Outcome.INCOMPLETE),
        ("4.1: what does not apply is no part of the share", counted(independent=4, not_applicable=5, omitted=1), 80, Outcome.PASSED),
        ("4.1: no step applies", counted(not_applicable=3), 80, Outcome.INCOMPLETE),
        ("4.1: the mark is 100 unless said", counted(independent=9, prompted=1), 100, Outcome.NOT_PASSED),
        ("4.1: a mark of nothing", counted(omitted=3), 0, Outcome.PASSED),
    ],
)  # fmt: skip
def test_the_share(source, seen, mark, outcome):
    assert outcome_of(steps(len(seen)), seen, stopped=None, pass_mark=mark) is outcome, source


@pytest.mark.parametrize(
    ("source", "first", "stopped", "outcome"),
    [
        ("facts 6.20, T26: 19 of 20, obturator left in", "omitted", None, Outcome.CRITICAL),
        ("scenario 2: critical overrides the share", "prompted", None, Outcome.CRITICAL),
        ("4.1", "assisted", None, Outcome.CRITICAL),
        ("scenario 20: not observed is not done", "not_seen", None, Outcome.INCOMPLETE),
        ("scenario 19: the patient's condition", "independent", "patient", Outcome.INCOMPLETE),
        ("scenario 19: caregiver error", "independent", "caregiver", Outcome.CRITICAL),
        ("4.1: first match, unsafe before the patient's sake", "prompted", "patient", Outcome.CRITICAL),
        ("4.1", "independent", None, Outcome.PASSED),
    ],
)
def test_a_critical_step(source, first, stopped, outcome):
    seen = results(first, *["independent"] * 19)

    assert outcome_of(steps(20, critical=1), seen, stopped=stopped, pass_mark=80) is outcome, source


@pytest.mark.parametrize(
    ("value", "critical", "outcome"),
    [
        (15, True, Outcome.PASSED),
        (15.01, True, Outcome.CRITICAL),
        (0, True, Outcome.CRITICAL),
        (1, True, Outcome.PASSED),
        (16, False, Outcome.NOT_PASSED),
    ],
)
def test_limits_are_inclusive_and_outside_them_nothing_is_independent(value, critical, outcome):
    measured = [Step(code="0", critical=critical, measure=Measure(unit="s", low=1, high=15))]
    seen = {"0": Seen("independent", value)}

    assert outcome_of(measured, seen, stopped=None, pass_mark=80) is outcome


def test_a_step_applies_to_its_role_and_where_its_condition_is_met_or_unknown():
    edition = Edition(
        number=1,
        in_force_from=date.fromisoformat(FIRST),
        recorded_at=datetime.fromisoformat(EARLY),
        steps=(
            Step(code="lead", roles=frozenset({"lead"})),
            Step(code="air", applies_when=Condition((("cuff", frozenset({fact_key("air")})),))),
            Step(code="all"),
        ),
    )

    def codes(role, facts):
        return [s.code for s in edition.steps_for(role, {k: fact_key(v) for k, v in facts.items()})]

    assert codes("lead", {"cuff": "none"}) == ["lead", "all"]
    assert codes("assist", {"cuff": "air"}) == ["air", "all"]
    assert codes("assist", {}) == ["air", "all"]  # unknown is never "not needed"


@pytest.mark.parametrize(
    ("one", "other", "same"), [(5, 5.0, True), (True, 1, False), ("1", 1, False), (False, 0, False)]
)
def test_values_of_facts_are_equal_only_where_they_are(one, other, same):
    assert (fact_key(one) == fact_key(other)) is same
