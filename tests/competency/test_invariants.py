"""What must hold for every case, whatever is in it (issue B, proof 4c), over made-up histories.

Some dozens in every run; more with ``-m long``. A failing seed is made again by ``case_of(seed)``.
"""

from __future__ import annotations

import copy
import random
from dataclasses import replace
from datetime import date, datetime, timedelta
from itertools import pairwise

import pytest

from competency.answer import answer
from competency.history import FamilyHistory
from competency.programme import Skill
from competency.reading import read_case
from tests.competency.build import data, other
from tests.naive.histories import make_case
from tests.naive.pieces import facts_at, instant, known, steps_of

SIZES = ("tiny", "small", "dense", "large")
QUICK = range(36)
LONG = range(1_000, 1_500)
LATEST = "2099-01-01T00:00:00Z"
ONE_DAY = timedelta(days=1)


def case_of(seed):
    return make_case(random.Random(f"invariant {seed}"), SIZES[seed % 4])


def without_question(seed):
    """A case with everything known, so that nothing added to it is hidden."""
    return case_of(seed) | {"known_at": None}


INVARIANTS = []


def invariant(holds):
    """Try this function with every seed: it says whether something holds for the case of that seed."""
    INVARIANTS.append(holds)
    return holds


def broken(holds, seeds):
    """The seeds for which it does not hold."""
    return [seed for seed in seeds if not holds(seed)]


# Looking at histories -------------------------------------------------------------------------------------


def lines(history):
    """Every list of spans of a family, by what it is about."""
    found = {(c, s): list(history.line(c, s)) for c in history.caregivers for s in history.known.programme.skills}
    return found | {"verdict": list(history.readiness.line)}


def until(spans, end):
    """The same spans cut to the days before ``end``."""
    return [(s.value, s.start, min(s.through or end - ONE_DAY, end - ONE_DAY)) for s in spans if s.start < end]


def last_day(case):
    """The last day on which anything in a case happens."""
    dates = [r.get(k) for r in rows(case) for k in ("on", "from")]
    dates += [e["in_force_from"] for s in case["programme"]["skills"] for e in s["editions"]]
    dates += [r["in_force_from"] for r in case["programme"]["rules"]]
    return max(date.fromisoformat(d) for d in dates if d)


GROUPS = ("qualifications", "care_plan", "authorisations", "items", "exceptions")


def rows(case):
    yield from (row for group in GROUPS for row in case[group])
    yield from (row for caregiver in case["caregivers"] for row in caregiver["records"])


# Spans ----------------------------------------------------------------------------------------------------


def touch_and_differ(spans):
    neighbours = pairwise(spans)
    return (
        all(a.through is not None and a.through + ONE_DAY == b.start and a.value != b.value for a, b in neighbours)
        and all(s.through is None or s.start <= s.through for s in spans)
        and (not spans or spans[-1].through is None)
    )


@invariant
def spans_touch_never_overlap_and_differ(seed):
    history = FamilyHistory(read_case(case_of(seed)))
    return all(touch_and_differ(spans) for spans in lines(history).values())


@invariant
def all_spans_begin_with_the_care_plan(seed):
    history = FamilyHistory(read_case(case_of(seed)))
    starts = {spans[0].start if spans else None for spans in lines(history).values()}
    return starts == {history.plan.first_day}


# Later records --------------------------------------------------------------------------------------------


def latest_pass(case, code, day, **changes):
    """A flawless assessment in the last minute of a day; None where there is no such thing."""
    skill = next(s for s in case["programme"]["skills"] if s["code"] == code)
    in_force = [e for e in skill["editions"] if e["in_force_from"] <= day.isoformat()]
    plan = known(case, case["care_plan"], instant(LATEST))
    if not in_force or "steps" not in in_force[-1] or min((e["on"] for e in plan), default="9") > day.isoformat():
        return None
    need = in_force[-1]["standard"]["needs"][0]
    attempt = {
        "kind": "demonstration",
        "id": "zz-last",
        "purpose": "assessment",
        "on": day.isoformat(),
        "time": "23:59",
    }
    attempt |= {"skill": code, "edition": in_force[-1]["edition"], "observers": ["rn1"], "recorded_at": LATEST}
    defaults = {"setting": "patient", "role": "lead", "mode": "in_person", "place": "home"}
    attempt |= {key: need.get(key, [value])[0] for key, value in defaults.items()} | changes
    steps = steps_of(in_force[-1], attempt["role"], facts_at(plan, day, "23:59"))
    attempt["results"] = {
        s["code"]: {"result": "independent", "value": s["measure"].get("low", s["measure"].get("high"))}
        if "measure" in s
        else "independent"
        for s in steps
    }
    return attempt


def later_rows(case, day):
    """One of everything that may be recorded, dated ``day``, as (where, row)."""
    code = case["programme"]["skills"][0]["code"]
    stamp = {"id": "zz-last", "recorded_at": LATEST}
    on = stamp | {"on": day.isoformat()}
    start = stamp | {"from": day.isoformat(), "through": None}
    facts = {"cuff": "water", "tube_id_mm": 4.25, "ventilator": True, "inner": False}
    certified = "steps" not in case["programme"]["skills"][0]["editions"][0]
    yield "care_plan", on | {"facts": facts}
    yield "qualifications", start | {"observer": "rn3", "skill": None}
    yield "authorisations", start | {"skill": code}
    yield "exceptions", start | {"missing": "team", "through": day.isoformat(), "by": "s1", "reason": "r"}
    yield "records", on | {"kind": "hold", "skill": None, "through": None}
    yield "records", on | {"kind": "recheck", "skill": None, "reason": "r"}
    yield "records", on | {"kind": "withdrawal", "skill": code, "reason": "r", "cover": "c"}
    yield "records", on | {"kind": "accepted", "skill": code, "last_day": None, "organisation": "o"}
    yield "records", on | {"kind": "signature", "skill": code, "by": "caregiver"}
    if certified:
        yield "records", on | {"kind": "certificate", "skill": code, "through": None}
    attempt = latest_pass(case, code, day)
    if attempt is not None:
        yield "records", attempt
        yield "records", attempt | {"stopped": "caregiver"}


def added(case, where, row):
    more = copy.deepcopy(case)
    (more["caregivers"][0]["records"] if where == "records" else more[where]).append(row)
    return more


@invariant
def a_later_record_never_changes_earlier_days(seed):
    case = without_question(seed)
    day = last_day(case) + ONE_DAY
    before = {k: until(v, day) for k, v in lines(FamilyHistory(read_case(case))).items()}
    return all(
        before == {k: until(v, day) for k, v in lines(FamilyHistory(read_case(added(case, *row)))).items()}
        for row in random.Random(seed).sample(list(later_rows(case, day)), 4)
    )


@invariant
def a_later_edition_never_changes_earlier_days(seed):
    case = without_question(seed)
    day = last_day(case) + ONE_DAY
    before = {k: until(v, day) for k, v in lines(FamilyHistory(read_case(case))).items()}
    more = copy.deepcopy(case)
    for skill in more["programme"]["skills"]:
        newest = skill["editions"][-1]
        changes = {"edition": newest["edition"] + 1, "in_force_from": day.isoformat(), "requires": [], "on_change": {}}
        changes |= {"recorded_at": f"{day - ONE_DAY}T11:00:00Z", "older_sign_offs": "recheck"}
        skill["editions"].append(newest | changes)
    return before == {k: until(v, day) for k, v in lines(FamilyHistory(read_case(more))).items()}


# Voids ----------------------------------------------------------------------------------------------------


def without_row(case, id_):
    """The case as if this had never been recorded, nor what is about it."""
    less = copy.deepcopy(case)
    for group in GROUPS:
        less[group] = [row for row in less[group] if row["id"] != id_]
    for caregiver in less["caregivers"]:
        caregiver["records"] = [r for r in caregiver["records"] if id_ not in (r["id"], r.get("record"))]
    gone = {r["id"] for r in rows(case)} - {r["id"] for r in rows(less)}
    less["voids"] = [v for v in less["voids"] if v["record"] not in gone]
    return less


def answers(case):
    return answer(read_case(case))


@invariant
def a_void_gives_the_case_without_the_record(seed):
    """Of a care plan entry only where no attempt was recorded after it: an attempt is never scored anew."""
    case = without_question(seed)
    rng = random.Random(seed)
    last = max((r["recorded_at"] for c in case["caregivers"] for r in c["records"]), key=instant, default=LATEST)
    free = [r for r in rows(case) if "facts" not in r or instant(r["recorded_at"]) > instant(last)]
    for row in rng.sample(free, min(4, len(free))):
        void = {"id": "zz-void", "record": row["id"], "reason": "r", "recorded_at": LATEST}
        if answers(case | {"voids": [*case["voids"], void]}) != answers(without_row(case, row["id"])):
            return False
    return True


@invariant
def a_care_plan_entry_entered_and_voided_leaves_no_trace(seed):
    case = without_question(seed)
    free = {e["on"] for e in case["care_plan"]}
    day = next(d for n in range(1, 99) if (d := (last_day(case) - n * ONE_DAY).isoformat()) not in free)
    entry = {"id": "zz-last", "on": day, "facts": {"cuff": "water", "ventilator": False}, "recorded_at": LATEST}
    void = {"id": "zz-void", "record": "zz-last", "reason": "r", "recorded_at": "2099-01-02T00:00:00Z"}
    more = added(added(case, "care_plan", entry), "voids", void)
    return answers(more) == answers(case)


# As known -------------------------------------------------------------------------------------------------


def stopped_at(case, at):
    """The case as a database would hold it that was stopped at an instant. A skill may be left without an edition."""

    def cut(things):
        return tuple(t for t in things if t.recorded_at <= at)

    programme = case.programme
    skills = {code: Skill(code=code, editions=cut(s.editions)) for code, s in programme.skills.items()}
    return replace(
        case,
        programme=replace(programme, skills=skills, rules=cut(programme.rules)),
        qualifications=cut(case.qualifications),
        care_plan=cut(case.care_plan),
        authorisations=cut(case.authorisations),
        items=cut(case.items),
        exceptions=cut(case.exceptions),
        caregivers=tuple(replace(c, records=cut(c.records)) for c in case.caregivers),
        voids=cut(case.voids),
        known_at=None,
    )


@invariant
def as_known_is_what_a_database_stopped_then_answers(seed):
    case = read_case(case_of(seed))
    instants = sorted(r.recorded_at for c in case.caregivers for r in c.records)
    for at in random.Random(seed).sample(instants, min(4, len(instants))):
        then = answer(replace(case, known_at=at)) | {"known_at": None}
        if then != answer(stopped_at(case, at)):
            return False
    return True


@invariant
def nothing_is_known_before_the_first_record(seed):
    case = read_case(case_of(seed))
    return lines(FamilyHistory(case, datetime.fromisoformat("2000-01-01T00:00:00Z"))) == {
        key: [] for key in lines(FamilyHistory(case))
    }


# A pass ---------------------------------------------------------------------------------------------------

# What a standing may be at the end of a day to which one more pass was added, in its last minute.
NO_LOWER = {
    "not_required": {"not_required"},
    "not_started": {"in_training", "awaiting", "signed_off", "held"},
    "in_training": {"in_training", "awaiting", "signed_off", "held"},
    "awaiting": {"awaiting"},
    "signed_off": {"signed_off"},
    "held": {"held", "signed_off"},
    "lapsed": {"lapsed", "awaiting", "signed_off", "held"},
    "withdrawn": {"withdrawn", "awaiting", "signed_off", "held"},
}
READINESS = ["not_ready", "ready_by_exception", "ready"]


def passes_added(seed, standings):
    """Histories before and after one more pass in the last minute of a day on which its skill stands so."""
    case = without_question(seed)
    rng = random.Random(seed)
    mine = case["caregivers"][0]["id"]
    before = FamilyHistory(read_case(case))
    for code in before.known.programme.skills:
        spans = [s for s in before.line(mine, code) if s.value in standings]
        for span in rng.sample(spans, min(2, len(spans))):
            end = min(span.through or date.max, span.start + timedelta(days=60))
            day = span.start + rng.randint(0, (end - span.start).days) * ONE_DAY
            attempt = latest_pass(case, code, day)
            if attempt is not None:
                yield mine, code, day, before, FamilyHistory(read_case(added(case, "records", attempt)))


@invariant
def a_pass_added_last_never_lowers_that_day(seed):
    for mine, shown_code, day, before, after in passes_added(seed, set(NO_LOWER)):
        for code in before.known.programme.skills:
            old, new = (h.line(mine, code).on(day).value for h in (before, after))
            untouched = old == new and code != shown_code
            if not untouched and new not in NO_LOWER[old]:
                return False
        was, now = (READINESS.index(h.readiness.verdict(day).value) for h in (before, after))
        if now < was:
            return False
    return True


@invariant
def a_pass_added_last_never_brings_the_last_day_nearer(seed):
    """Of what is current: a renewal is never earlier than it was (4.4)."""
    for mine, code, day, *both in passes_added(seed, {"signed_off", "held"}):
        old, new = (h.skill_on(day, h.at_end_of(day, mine), code).last_day or date.max for h in both)
        if new < old:
            return False
    return True


# Order of input -------------------------------------------------------------------------------------------


def shuffled(case, rng):
    """The same case, each list whose order means nothing in another order.

    The order of observers (the lead is first), needs (the first lends its filters), steps, items and team
    alternatives means something; skills and caregivers are answered in the order in which they stand.
    """
    mixed = copy.deepcopy(case)
    for group in (*GROUPS, "voids"):
        rng.shuffle(mixed[group])
    for caregiver in mixed["caregivers"]:
        rng.shuffle(caregiver["records"])
        rng.shuffle(caregiver["sets"])
        for record in caregiver["records"]:
            if "results" in record:
                results = list(record["results"].items())
                rng.shuffle(results)
                record["results"] = dict(results)
    for skill in mixed["programme"]["skills"]:
        rng.shuffle(skill["editions"])
    rng.shuffle(mixed["programme"]["rules"])
    return mixed


def holds_in_line(found):
    """An answer whose reasons of the code `hold` stand in the order of their ids; see the finding below."""
    for skill in (s for c in found["caregivers"] for s in c["skills"]):
        holds = sorted((r for r in skill["because"] if r["code"] == "hold"), key=lambda r: r["record"])
        skill["because"] = [holds.pop(0) if r["code"] == "hold" else r for r in skill["because"]]
    return found


def test_finding_two_holds_in_either_order():
    first, second = (other("hold", day, through=None) for day in ("2025-01-10", "2025-01-20"))

    assert answers(data(first, second)) == answers(data(second, first))


@invariant
def the_order_of_input_never_matters(seed):
    case = case_of(seed)
    return holds_in_line(answers(shuffled(case, random.Random(seed)))) == holds_in_line(answers(case))


def by_name(found):
    """An answer without the order in which skills and caregivers stand, and without who was matched first."""
    return {
        "skills": {
            (c["id"], s["skill"]): {k: v for k, v in s.items() if k != "because"}
            for c in found["caregivers"]
            for s in c["skills"]
        },
        "sets": {c["id"]: c["sets"] for c in found["caregivers"]},
        "team": found["team"],
        "verdicts": found["readiness"]["spans"],
        "missing": [(m["code"], m["excepted"]) for m in found["readiness"]["missing"]],
    }


@invariant
def the_order_of_skills_and_caregivers_decides_nothing(seed):
    case = case_of(seed)
    mixed = copy.deepcopy(case)
    random.Random(seed).shuffle(mixed["programme"]["skills"])
    random.Random(seed).shuffle(mixed["caregivers"])
    return by_name(answers(mixed)) == by_name(answers(case))


# The runs -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("holds", INVARIANTS, ids=lambda holds: holds.__name__)
def test_it_holds(holds):
    assert broken(holds, QUICK) == []


@pytest.mark.long
@pytest.mark.parametrize("holds", INVARIANTS, ids=lambda holds: holds.__name__)
def test_it_holds_for_hundreds(holds):
    assert broken(holds, LONG) == []
