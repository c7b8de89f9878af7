"""Which reasons there are, where a standing alone does not say it."""

from datetime import date

import pytest

from competency.reasons import reasons
from tests.competency.build import edition, history, other, shown, skill, standard

ONE_MONTH = [skill("s", edition(standard=standard(valid_for="P1M", grace="P10D")))]
CARD = [skill("s", edition(standard={"evidence": "certificate"}, steps=[]))]
STEPS = [{"code": "a", "critical": True}, {"code": "b"}, {"code": "c"}]
ALONE = {"a": "independent", "b": "independent", "c": "independent"}


def found(day, *records, code="s", **changes):
    made, on = history(*records, **changes), date.fromisoformat(day)
    return reasons(made, on, made.at_end_of(on, "ana"), code)


@pytest.mark.parametrize(
    ("source", "day", "codes"),
    [
        ("4.4 through last day + grace the same renewal restores it", "2025-02-20", ["lapsed", "needs", "renewal"]),
        ("4.4 after that, only a full sign-off", "2025-02-21", ["lapsed", "needs"]),
    ],
)
def test_a_renewal_is_spoken_of_while_it_leads_back(source, day, codes):
    why = found(day, shown("2025-01-10"), skills=ONE_MONTH)

    assert [r.code for r in why if r.code != "passed"] == codes, source


@pytest.mark.parametrize(
    ("records", "card"),
    [
        ([shown("2025-01-10"), other("withdrawal", "2025-01-20", reason="r", cover="c")], False),
        ([other("certificate", "2025-01-10", through=None), other("withdrawal", "2025-01-20", reason="r", cover="c")], True),
        ([shown("2025-01-10")], False),
        ([other("certificate", "2025-01-10", through="2025-01-31")], True),
    ],
)  # fmt: skip
def test_what_leads_back_is_a_new_card_where_a_card_was_the_evidence(records, card):
    why = found("2025-03-01", *records, skills=CARD if card else ONE_MONTH)

    assert [r.about["card"] for r in why if r.code in ("lapsed", "withdrawn")] == [card]


def test_everything_that_kept_a_pass_out_is_a_reason_of_its_own():
    both = [skill("s", edition(requires=[{"skill": "t"}], needs_authorisation=True)), skill("t")]
    why = [r for r in found("2025-02-01", shown("2025-01-10"), skills=both) if r.code == "did_not_count"]

    assert [(r.met, r.about["why"], r.about["gate"]) for r in why] == [
        (None, "authorisation", ()),
        (None, "gate", ("t",)),
    ]


@pytest.mark.parametrize(
    ("what", "results", "stopped", "code", "steps"),
    [
        ("the rest of a stopped attempt was not seen", {"b": "assisted", "c": "not_seen"}, "caregiver", "critical", ("b",)),
        ("an unseen step is no help", {"a": "prompted", "c": "not_seen"}, None, "critical", ("a",)),
        ("nor does it fail one", {"b": "omitted", "c": "not_seen"}, None, "not_passed", ("b",)),
        ("it leaves one incomplete", {"a": "not_seen"}, None, "incomplete", ("a",)),
        ("stopped for the patient", {"b": "prompted", "c": "not_seen"}, "patient", "incomplete", ("b", "c")),
    ],
)  # fmt: skip
def test_the_steps_of_a_reason_are_what_made_it(what, results, stopped, code, steps):
    attempt = shown("2025-01-10", results=ALONE | results, stopped=stopped)
    why = found("2025-02-01", attempt, skills=[skill("s", edition(steps=STEPS))])

    assert [(r.code, r.about["steps"], r.about["stopped"]) for r in why if "steps" in r.about] == [
        (code, steps, stopped)
    ], what
