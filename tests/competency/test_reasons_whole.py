"""All reasons of a standing with all their parameters, as the answer gives them, for a case of each kind."""

from __future__ import annotations

from datetime import date

import pytest

from competency.reasons import gate_reasons, reasons
from tests.competency.build import edition, failed, history, one, other, plan, shown, skill, standard


def found(day, *records, code="s", **changes):
    made, on = history(*records, **changes), date.fromisoformat(day)
    return [r.as_json() for r in reasons(made, on, made.at_end_of(on, "ana"), code)]


def need(code="needs", met=False, have=0, of=1, last_on=None, **more):
    """What is still needed, and how far it is; counts are one unless said."""
    made = {"days": 1, "observers": 1, "places": 1, "within": False, "setting": [], "role": [], "mode": [], "place": []}
    made |= {f"{what}_have": 1 if have else 0 for what in ("days", "observers", "places")}
    return {"code": code, "met": met, "have": have, "of": of, "last_on": last_on} | made | more


def reason(code, met, **about):
    return {"code": code, "met": met} | about


def passed(day, record=None, code="s"):
    return reason("passed", True, record=record or f"d-{code}-{day}-10:00", on=day)


def signed_off(on="2025-01-10", last_day=None):
    return reason("signed_off", True, on=on, last_day=last_day)


def recheck(cause, on, fact=None, record=None):
    return reason("recheck", False, cause=cause, on=on, fact=fact, record=record)


def not_counted(day, record, why, *gate):
    return reason("did_not_count", None, record=record, on=day, why=why, gate=list(gate))


DONE = passed("2025-01-10")
AGAIN = need("renewal")
AIR = [plan(), plan("2025-01-20", {"cuff": "air"})]
GATES = [{"skill": "t", "within": "P1M"}, {"skill": "u"}, {"skill": "v", "only_to_learn": True}]
LATER = [edition(2, in_force_from="2025-01-20", older_sign_offs="recheck")]
WIDE = {"passes": 3, "days": 2, "observers": 2, "places": 2, "within": "P3M", "setting": ["patient", "model"]}
WIDE |= {"role": ["lead"], "mode": ["in_person"], "place": ["home", "hospital"]}
CARD = [skill("s", edition(standard={"evidence": "certificate"}, steps=[]))]
TWO = {"needs": [{"passes": 2}], "renewal": [{"passes": 1}]}

TABLE = {
    "no edition in force": (
        "2025-02-28", [], {"skills": [skill("s", edition(in_force_from="2025-03-01"))]},
        [reason("no_edition", None)],
    ),
    "the care plan does not call for it, by each fact that says so": (
        "2025-02-01", [], {"skills": [skill("s", edition(applies_when={"cuff": ["air"], "suction": [False], "tube_id_mm": [5], "oxygen": [True]}))]},
        [reason("care_plan_does_not_call", None, facts=["cuff", "suction"])],
    ),
    "before the care plan": ("2024-12-31", [], {}, [reason("no_care_plan", False)]),
    "not started": ("2025-01-01", [], {}, [need()]),
    "current": ("2025-02-01", [shown("2025-01-10")], {"skills": one(valid_for="P1M")}, [signed_off(last_day="2025-02-10"), DONE]),
    "lapsed, a renewal brings it back": (
        "2025-02-20", [shown("2025-01-10")], {"skills": one(valid_for="P1M", grace="P10D")},
        [reason("lapsed", False, last_day="2025-02-10", renewal_through="2025-02-20", card=False), need(), AGAIN, DONE],
    ),
    "lapsed, the day after grace": (
        "2025-02-21", [shown("2025-01-10")], {"skills": one(valid_for="P1M", grace="P10D")},
        [reason("lapsed", False, last_day="2025-02-10", renewal_through=None, card=False), need(), DONE],
    ),
    "lapsed in grace, on the way back": (
        "2025-02-20", [shown("2025-01-10", id="a"), shown("2025-01-11", id="b"), shown("2025-02-15", id="c")],
        {"skills": one(needs=[{"passes": 2}], renewal=[{"passes": 2}], valid_for="P1M", grace="P10D")},
        [reason("lapsed", False, last_day="2025-02-11", renewal_through="2025-02-21", card=False), need(have=1, of=2, last_on="2025-02-15"),
         need("renewal", have=1, of=2, last_on="2025-02-15"), passed("2025-02-15", "c"), passed("2025-01-11", "b")],
    ),
    "withdrawn": (
        "2025-02-01", [shown("2025-01-10"), other("withdrawal", "2025-01-20", reason="r", cover="c")], {},
        [reason("withdrawn", False, on="2025-01-20", card=False), need(), DONE],
    ),
    "a card": (
        "2025-02-01", [other("certificate", "2025-01-10", through="2025-01-31")], {"skills": CARD},
        [reason("lapsed", False, last_day="2025-01-31", renewal_through=None, card=True), reason("certificate", False)],
    ),
    "a card that was withdrawn": (
        "2025-02-01", [other("certificate", "2025-01-10", through=None), other("withdrawal", "2025-01-20", reason="r", cover="c")], {"skills": CARD},
        [reason("withdrawn", False, on="2025-01-20", card=True), reason("certificate", False)],
    ),
    "signatures": (
        "2025-01-12", [shown("2025-01-10"), other("signature", "2025-01-11", by="educator")],
        {"skills": one(signatures=["educator", "caregiver"], valid_for="P10D")},
        [reason("signature", False, by="caregiver", shown_on="2025-01-10", last_day="2025-01-20"),
         reason("signature", True, by="educator", shown_on="2025-01-10", last_day="2025-01-20"), DONE],
    ),
    "a signature of the day before does not count": (
        "2025-01-12", [shown("2025-01-10"), other("signature", "2025-01-09", by="educator")], {"skills": one(signatures=["educator"])},
        [reason("signature", False, by="educator", shown_on="2025-01-10", last_day=None), DONE],
    ),
    "a recheck that was called": (
        "2025-02-01", [shown("2025-01-10"), other("recheck", "2025-01-20", reason="r", id="rc")], {},
        [signed_off(), AGAIN, recheck("record", "2025-01-20", record="rc"), DONE],
    ),
    "a recheck of a critical attempt": (
        "2025-02-01", [shown("2025-01-10"), failed("2025-01-20", id="c")], {},
        [signed_off(), AGAIN, recheck("critical", "2025-01-20", record="c"), reason("critical", False, record="c", on="2025-01-20", steps=["a"], stopped=None), DONE],
    ),
    "a recheck of a fact": (
        "2025-02-01", [shown("2025-01-10")], {"skills": [skill("s", edition(on_change={"cuff": "recheck"}))], "care_plan": AIR},
        [signed_off(), AGAIN, recheck("fact", "2025-01-20", fact="cuff"), DONE],
    ),
    "a recheck of a fact that restarts": (
        "2025-02-01", [shown("2025-01-10")], {"skills": [skill("s", edition(on_change={"cuff": "restart"}))], "care_plan": AIR},
        [signed_off(), AGAIN, recheck("fact", "2025-01-20", fact="cuff"), DONE],
    ),
    "a recheck of a fact that is due": (
        "2025-01-27", [shown("2025-01-10")], {"skills": [skill("s", edition(on_change={"cuff": {"recheck_by": "P7D"}}))], "care_plan": AIR},
        [signed_off(), reason("recheck_due", None, cause="fact", opens_on="2025-01-28", fact="cuff"), DONE],
    ),
    "and the day after": (
        "2025-01-28", [shown("2025-01-10")], {"skills": [skill("s", edition(on_change={"cuff": {"recheck_by": "P7D"}}))], "care_plan": AIR},
        [signed_off(), AGAIN, recheck("fact", "2025-01-28", fact="cuff"), DONE],
    ),
    "a recheck of an edition": (
        "2025-02-01", [shown("2025-01-10")], {"skills": [skill("s", edition(), *LATER)]},
        [signed_off(), AGAIN, recheck("edition", "2025-01-20"), DONE],
    ),
    "a recheck of an edition that is due": (
        "2025-02-10", [shown("2025-01-10")],
        {"skills": [skill("s", edition(), edition(2, in_force_from="2025-01-20", older_sign_offs={"recheck_by": "2025-02-10"}))]},
        [signed_off(), reason("recheck_due", None, cause="edition", opens_on="2025-02-11", fact=None), DONE],
    ),
    "required again": (
        "2025-02-01", [shown("2025-01-10")],
        {"skills": [skill("s", edition(applies_when={"cuff": ["none"]}))], "care_plan": [*AIR, plan("2025-01-25", {"cuff": "none"})]},
        [signed_off(), AGAIN, recheck("required_again", "2025-01-25"), DONE],
    ),
    "two rechecks, and a pass between them": (
        "2025-02-01", [shown("2025-01-10"), other("recheck", "2025-01-20", reason="r", id="x"), shown("2025-01-21", id="m"), other("recheck", "2025-01-22", reason="r", id="y")],
        {"skills": one(renewal=[{"passes": 2}])},
        [signed_off(), need("renewal", of=2), recheck("record", "2025-01-20", record="x"), recheck("record", "2025-01-22", record="y"), passed("2025-01-21", "m"), DONE],
    ),
    "gates: too long ago, waived, not yet": (
        "2025-03-01", [shown("2025-01-10", code="t")],
        {"skills": [skill("s", edition(requires=GATES)), skill("t"), skill("u", edition(applies_when={"cuff": ["air"]})), skill("v")]},
        [need(), reason("gate", False, skill="t", too_long_ago=True), reason("gate_waived", True, skill="u"), reason("gate", False, skill="v", too_long_ago=False)],
    ),
    "gates: open on the last day": (
        "2025-02-10", [shown("2025-01-10", code="t")],
        {"skills": [skill("s", edition(requires=GATES[:1])), skill("t")]},
        [need(), reason("gate", True, skill="t", too_long_ago=False)],
    ),
    "prerequisites of what is current": (
        "2025-01-31", [*(shown("2025-01-10", code=c) for c in "tuv"), shown("2025-01-10", at="11:00"), other("hold", "2025-01-31", skill="t", through=None)],
        {"skills": [skill("s", edition(requires=GATES)), skill("t"), skill("u"), skill("v")]},
        [signed_off(), reason("prerequisite", False, skill="t"), reason("prerequisite", True, skill="u"), passed("2025-01-10", "d-s-2025-01-10-11:00")],
    ),
    "a prerequisite that is not called for is none": (
        "2025-01-31", [shown("2025-01-10")],
        {"skills": [skill("s", edition(requires=[{"skill": "u"}])), skill("u", edition(applies_when={"cuff": ["air"]}))]},
        [signed_off(), DONE],
    ),
    "holds, by first day": (
        "2025-01-25", [shown("2025-01-10"), other("hold", "2025-01-24", through=None, skill=None, id="all"), other("hold", "2025-01-20", through="2025-01-25", id="h"), other("hold", "2025-01-20", through="2025-01-24", id="over")], {},
        [signed_off(), reason("hold", False, record="h", on="2025-01-20", through="2025-01-25"), reason("hold", False, record="all", on="2025-01-24", through=None), DONE],
    ),
    "no authorisation": ("2025-02-01", [], {"skills": [skill("s", edition(needs_authorisation=True))]}, [need(), reason("authorisation", False)]),
    "needs, each with its own tally": (
        "2025-02-01", [shown("2025-01-10"), shown("2025-01-11", place="home", observers=["rn2"])],
        {"skills": one(needs=[WIDE, {"passes": 1, "place": ["school"]}])},
        [need(have=2, of=3, last_on="2025-01-11", days=2, days_have=2, observers=2, observers_have=2, places=2, places_have=2, within=True,
              setting=["model", "patient"], role=["lead"], mode=["in_person"], place=["home", "hospital"]),
         need(place=["school"]), passed("2025-01-11"), DONE],
    ),
    "what did not count, newest first": (
        "2025-02-01", [shown("2025-01-10", purpose="practice", id="p"), shown("2025-01-11", observers=["new"], id="o"), shown("2025-01-25", id="e")],
        {"skills": [skill("s", edition(), *LATER)]},
        [need(), AGAIN, recheck("edition", "2025-01-20"), not_counted("2025-01-25", "e", "edition"), not_counted("2025-01-11", "o", "observer"), not_counted("2025-01-10", "p", "practice")],
    ),
    "authorisation and gate, both": (
        "2025-02-01", [shown("2025-01-10", id="x")],
        {"skills": [skill("s", edition(requires=[{"skill": "t"}], needs_authorisation=True)), skill("t")]},
        [need(), reason("gate", False, skill="t", too_long_ago=False), reason("authorisation", False), not_counted("2025-01-10", "x", "authorisation"), not_counted("2025-01-10", "x", "gate", "t")],
    ),
    "a pass behind a closed gate serves a current skill": (
        "2025-02-01", [shown("2025-01-09", code="t"), shown("2025-01-10"), other("hold", "2025-01-15", skill="t", through=None), shown("2025-01-20", id="x")],
        {"skills": [skill("s", edition(requires=[{"skill": "t"}])), skill("t")]},
        [signed_off(), reason("prerequisite", False, skill="t"), passed("2025-01-20", "x"), DONE],
    ),
    "attempts before the last sign-off are over": (
        "2025-02-01", [shown("2025-01-08", id="x", results={"a": "not_seen"}), failed("2025-01-09", id="y"), shown("2025-01-10")], {},
        [signed_off(), DONE],
    ),
    "two observers who differ": (
        "2025-02-01", [shown("2025-01-10", id="x", second={"observer": "rn2", "results": {"a": "omitted"}})], {},
        [need(), reason("disputed", False, record="x", on="2025-01-10", steps=[], stopped=None)],
    ),
    "two observers, the second's outcome stands": (
        "2025-02-01",
        [shown("2025-01-10", id="x", second={"observer": "rn2", "results": {"a": "omitted"}}), {"kind": "resolution", "id": "r", "record": "x", "take": "second", "recorded_at": "2025-01-20T08:00:00Z"}],
        {},
        [need(), reason("critical", False, record="x", on="2025-01-10", steps=["a"], stopped=None)],
    ),
    "steps in their own order": (
        "2025-02-01", [shown("2025-01-10", id="x", results={"z": "omitted", "a": "prompted"})], {"skills": [skill("s", edition(steps=[{"code": "z"}, {"code": "a"}]))]},
        [need(), reason("not_passed", False, record="x", on="2025-01-10", steps=["z", "a"], stopped=None)],
    ),
    "a signature of the day itself": (
        "2025-01-12", [shown("2025-01-10"), other("signature", "2025-01-10", by="educator", time="08:00")],
        {"skills": one(signatures=["educator", "caregiver"])},
        [reason("signature", False, by="caregiver", shown_on="2025-01-10", last_day=None),
         reason("signature", True, by="educator", shown_on="2025-01-10", last_day=None), DONE],
    ),
    "behind a closed gate a pass counts for a recheck alone": (
        "2025-02-01", [other("recheck", "2025-01-05", reason="r", id="rc"), shown("2025-01-10", id="x")],
        {"skills": [skill("s", edition(requires=[{"skill": "t"}], standard=standard(renewal=[{"passes": 2}]))), skill("t")]},
        [need(), reason("gate", False, skill="t", too_long_ago=False), need("renewal", have=1, of=2, last_on="2025-01-10"), recheck("record", "2025-01-05", record="rc"),
         not_counted("2025-01-10", "x", "gate", "t")],
    ),
    "behind a closed gate a pass closed a recheck": (
        "2025-02-01", [other("recheck", "2025-01-05", reason="r"), shown("2025-01-10", id="x")],
        {"skills": [skill("s", edition(requires=[{"skill": "t"}])), skill("t")]},
        [need(), reason("gate", False, skill="t", too_long_ago=False), passed("2025-01-10", "x")],
    ),
    "behind a closed gate a pass on the way to a renewal": (
        "2025-02-01", [shown("2025-01-09", code="t"), shown("2025-01-10"), other("hold", "2025-01-15", skill="t", through=None), shown("2025-01-20", id="x")],
        {"skills": [skill("s", edition(requires=[{"skill": "t"}], standard=standard(renewal=[{"passes": 2}]))), skill("t")]},
        [signed_off(), reason("prerequisite", False, skill="t"), passed("2025-01-20", "x"), DONE],
    ),
    "behind a closed gate a pass renewed what has lapsed since": (
        "2025-03-01", [shown("2025-01-09", code="t"), shown("2025-01-10"), other("hold", "2025-01-15", skill="t", through=None), shown("2025-01-20", id="x")],
        {"skills": [skill("s", edition(requires=[{"skill": "t"}], standard=standard(valid_for="P1M", grace="P0D"))), skill("t")]},
        [reason("lapsed", False, last_day="2025-02-20", renewal_through=None, card=False), need(), reason("gate", False, skill="t", too_long_ago=False), passed("2025-01-20", "x"), DONE],
    ),
    "on an edition that counts no more, of a current skill": (
        "2025-02-01", [shown("2025-01-10"), shown("2025-01-25", id="x")], {"skills": [skill("s", edition(), *LATER)]},
        [signed_off(), AGAIN, recheck("edition", "2025-01-20"), not_counted("2025-01-25", "x", "edition"), DONE],
    ),
    "a failure starts a tally again": (
        "2025-02-01", [shown("2025-01-10", id="x"), failed("2025-01-11", id="y"), shown("2025-01-12", id="z")], {"skills": one(needs=[{"passes": 3}])},
        [need(have=1, of=3, last_on="2025-01-12"), passed("2025-01-12", "z"), reason("critical", False, record="y", on="2025-01-11", steps=["a"], stopped=None), passed("2025-01-10", "x")],
    ),
    "unless it is kept": (
        "2025-02-01", [shown("2025-01-10", id="x"), failed("2025-01-11", id="y"), shown("2025-01-12", id="z")],
        {"skills": one(needs=[{"passes": 3}], after_failure="keep")},
        [need(have=2, of=3, days_have=2, last_on="2025-01-12"), passed("2025-01-12", "z"), reason("critical", False, record="y", on="2025-01-11", steps=["a"], stopped=None), passed("2025-01-10", "x")],
    ),
    "stopped as unsafe, two observers: the lead's steps": (
        "2025-02-01",
        [shown("2025-01-10", id="x", stopped="caregiver", results={"a": "independent", "b": "omitted"}, second={"observer": "rn2", "results": {"a": "independent", "b": "independent"}})],
        {"skills": [skill("s", edition(steps=[{"code": "a", "critical": True}, {"code": "b"}]))]},
        [need(), reason("critical", False, record="x", on="2025-01-10", steps=["b"], stopped="caregiver")],
    ),
    "required again by an edition": (
        "2025-02-01", [shown("2025-01-10")],
        {"skills": [skill("s", edition(), edition(2, in_force_from="2025-01-15", applies_when={"cuff": ["air"]}), edition(3, in_force_from="2025-01-20"))]},
        [signed_off(), AGAIN, recheck("required_again", "2025-01-20"), DONE],
    ),
    "a pass before a recheck was due is none after it opened": (
        "2025-01-28", [shown("2025-01-10"), shown("2025-01-27", id="x")],
        {"skills": [skill("s", edition(on_change={"cuff": {"recheck_by": "P7D"}}, standard=standard(renewal=[{"passes": 2}])))], "care_plan": AIR},
        [signed_off(), need("renewal", of=2), recheck("fact", "2025-01-28", fact="cuff"), passed("2025-01-27", "x"), DONE],
    ),
    "a pass before the lapse is none after it": (
        "2025-02-11", [shown("2025-01-10"), shown("2025-02-10", id="x")], {"skills": one(renewal=[{"passes": 2}], valid_for="P1M", grace="P0D")},
        [reason("lapsed", False, last_day="2025-02-10", renewal_through=None, card=False), need(), passed("2025-02-10", "x"), DONE],
    ),
    "two passes, one used up": (
        "2025-01-12", [shown("2025-01-10", id="a"), shown("2025-01-11", id="b"), shown("2025-01-12", id="c")], {"skills": one(**TWO, valid_for="P1M")},
        [signed_off("2025-01-11", "2025-02-12"), passed("2025-01-12", "c"), passed("2025-01-11", "b")],
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", TABLE)
def test_every_reason_with_its_parameters(what):
    day, records, changes, expected = TABLE[what]

    assert found(day, *records, **changes) == expected


def test_a_skill_without_an_edition_has_no_gate():
    made = history(skills=[skill("s", edition(in_force_from="2025-03-01", requires=[{"skill": "t"}])), skill("t")])
    sweep = made.at_end_of(date(2025, 2, 28), "ana")

    assert list(gate_reasons(sweep, sweep.courses["s"], date(2025, 2, 28))) == []
