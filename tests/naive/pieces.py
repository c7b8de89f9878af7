"""The small pieces the naive reading is put together from: dates, what was known, one attempt, the needs.

Everything takes and gives plain JSON values, dates and tuples. Numbers in brackets are the sections of the design page.
"""

from __future__ import annotations

import calendar
import re
from datetime import date, datetime, timedelta
from functools import cache

DAY = timedelta(days=1)
FILTERS = ("setting", "role", "mode", "place")


# ---- dates (4.3) ----


@cache
def day(text):
    return date.fromisoformat(text) if text else None


@cache
def instant(text):
    return datetime.fromisoformat(text)


DATE = re.compile(r"\d{4}-\d\d-\d\d")
DURATION = re.compile(r"P(?=\d)(?:(\d+)Y)?(?:(\d+)M)?(?:(\d+)W)?(?:(\d+)D)?")


@cache
def duration(text):
    """Return an ISO 8601 duration as (months, days), or None for None."""
    if not text:
        return None
    years, months, weeks, days = (int(n or 0) for n in DURATION.fullmatch(text).groups())
    return years * 12 + months, weeks * 7 + days


def month_end(d):
    return d.replace(day=calendar.monthrange(d.year, d.month)[1])


def add(d, period):
    """Add (months, days); the day is clipped to the month's end before the days are added."""
    months, days = period
    year, month = divmod(d.year * 12 + d.month - 1 + months, 12)
    last = calendar.monthrange(year, month + 1)[1]
    return date(year, month + 1, min(d.day, last)) + timedelta(days=days)


def covers(record, on):
    """Say whether the whole day ``on`` is within from..through of a record."""
    return (not record.get("from") or day(record["from"]) <= on) and (
        not record.get("through") or on <= day(record["through"])
    )


# ---- what was known (4.5) ----


def known(case, records, at):
    """Those of ``records`` recorded, and not voided, by the instant ``at`` inclusive (None: all in the case)."""
    voided = {v["record"] for v in case.get("voids") or [] if at is None or instant(v["recorded_at"]) <= at}
    return [r for r in records or [] if (at is None or instant(r["recorded_at"]) <= at) and r.get("id") not in voided]


# ---- care plan and conditions (4.1) ----


def facts_at(entries, on, time=None):
    """The facts in force at a moment (time None: at the end of the day), or None before any entry."""
    before = [e for e in entries if (day(e["on"]), e.get("time") or "") <= (on, time if time is not None else "99")]
    if not before:
        return None
    facts = max(before, key=lambda e: (e["on"], e.get("time") or ""))["facts"]
    return {name: value for name, value in facts.items() if value is not None}


def same(one, other):
    return isinstance(one, bool) == isinstance(other, bool) and one == other


def met(condition, facts):
    """A condition on an unknown fact is met."""
    return all(
        name not in facts or any(same(facts[name], value) for value in values)
        for name, values in (condition or {}).items()
    )


# ---- one attempt (4.1) ----


def qualified(qualifications, observer, skill, on):
    return any(q["observer"] == observer and q.get("skill") in (None, skill) and covers(q, on) for q in qualifications)


def steps_of(edition, role, facts):
    return [
        s
        for s in edition.get("steps") or []
        if (not s.get("roles") or role in s["roles"]) and met(s.get("applies_when"), facts)
    ]


def limits_of(measure, facts):
    """The prescriber's limits first, as the care plan states them; own ones only where they do not contradict those."""
    names = measure.get("order") or {}
    low, high = (facts.get(names.get(side)) for side in ("low", "high"))
    own_low, own_high = measure.get("low"), measure.get("high")
    if low is None and (high is None or own_low is None or own_low <= high):
        low = own_low
    if high is None and (low is None or own_high is None or low <= own_high):
        high = own_high
    return low, high


def step_word(step, result, facts):
    """The result that counts: a value outside its limits makes it ``outside``, whatever was ticked."""
    word, value = (result, None) if isinstance(result, str) else (result["result"], result.get("value"))
    measure = step.get("measure")
    if measure and value is not None and word != "not_applicable":
        low, high = limits_of(measure, facts)
        if (low is not None and value < low) or (high is not None and value > high):
            return "outside"
    return word


def outcome_of(attempt, edition, results, facts):
    """``facts``: the care plan at that moment as known when the attempt was recorded."""
    words = [
        (step.get("critical", False), step_word(step, results[step["code"]], facts))
        for step in steps_of(edition, attempt["role"], facts)
    ]
    if attempt.get("stopped") == "caregiver":
        return "critical"
    if any(critical and word in ("prompted", "assisted", "omitted", "outside") for critical, word in words):
        return "critical"
    if attempt.get("stopped") == "patient":
        return "incomplete"
    if any(critical and word == "not_seen" for critical, word in words):
        return "incomplete"
    counted = [word for _, word in words if word != "not_applicable"]
    if not counted:
        return "incomplete"
    mark = edition["standard"].get("pass_mark", 100)
    seen = counted.count("independent")
    unseen = counted.count("not_seen")
    if 100 * (seen + unseen) < mark * len(counted):
        return "not_passed"
    if 100 * seen >= mark * len(counted):
        return "passed"
    return "incomplete"


def scored(case, attempt, edition, qualifications, records):
    """The outcome of an attempt, or None for practice and an unqualified lead, or ``disputed``.

    ``qualifications`` and ``records`` (the caregiver's) are those known now; the care plan is as it was known then.
    """
    on = day(attempt["on"])
    if attempt["purpose"] != "assessment":
        return None
    if not qualified(qualifications, attempt["observers"][0], attempt["skill"], on):
        return None
    plan_then = known(case, case.get("care_plan"), instant(attempt["recorded_at"]))
    facts = facts_at(plan_then, on, attempt["time"]) or {}
    lead = outcome_of(attempt, edition, attempt["results"], facts)
    second = attempt.get("second")
    if not second or not qualified(qualifications, second["observer"], attempt["skill"], on):
        return lead
    other = outcome_of(attempt, edition, second["results"], facts)
    if other == lead:
        return lead
    says = [r for r in records if r["kind"] == "resolution" and r["record"] == attempt["id"]]
    if not says:
        return "disputed"
    last = max(says, key=lambda r: (instant(r["recorded_at"]), r["id"]))
    return lead if last["take"] == "lead" else other


def edition_acceptable(editions, number, on):
    """Say whether an attempt on edition ``number`` counts on ``on`` (4.5)."""
    for newer in editions:
        if newer["edition"] <= number or day(newer["in_force_from"]) > on:
            continue
        policy = newer["older_sign_offs"]
        if policy == "recheck":
            return False
        if isinstance(policy, dict) and on > day(policy["recheck_by"]):
            return False
    return True


# ---- the needs (4.2) ----


def looks_at(need, attempt):
    return all(not need.get(f) or attempt[f] in need[f] for f in FILTERS)


def renewal_needs(standard):
    """For each filter a renewal need leaves out, it takes the first need's."""
    needs = standard.get("needs") or []
    if not needs:
        return []
    first = {f: needs[0][f] for f in FILTERS if needs[0].get(f)}
    return [{**first, **need} for need in standard.get("renewal") or [{"passes": 1}]]


def enough(need, passes):
    return (
        len(passes) >= need.get("passes", 1)
        and len({p["on"] for p in passes}) >= need.get("days", 0)
        and len({p["attempt"]["observers"][0] for p in passes}) >= need.get("observers", 0)
        and len({p["attempt"]["place"] for p in passes}) >= need.get("places", 0)
    )


def need_holds(need, passes, failures, restart):
    floor = max([f["at"] for f in failures if looks_at(need, f["attempt"])], default=0) if restart else 0
    tally = [p for p in passes if p["at"] > floor and looks_at(need, p["attempt"])]
    if not need.get("within"):
        return enough(need, tally)
    return any(
        enough(need, [p for p in tally if x["on"] <= p["on"] <= add(x["on"], duration(need["within"]))]) for x in tally
    )


def needs_hold(needs, standard, passes, failures):
    """All needs hold at once on these passes (in order, the last is being tried) and the last one is looked at."""
    restart = standard.get("after_failure", "restart") == "restart"
    return (
        bool(needs)
        and bool(passes)
        and any(looks_at(need, passes[-1]["attempt"]) for need in needs)
        and all(need_holds(need, passes, failures, restart) for need in needs)
    )


# ---- the last day and grace (4.2, 4.3) ----


def end_of(origin, period, standard):
    """Return the clock of a sign-off on ``origin``: its last day (None: never lapses) and how it was counted."""
    if period is None:
        return {"last_day": None, "origin": None, "period": None}
    last = add(origin, period)
    if standard.get("valid_to", "day") == "month_end" and last != month_end(last):
        return {"last_day": month_end(last), "origin": None, "period": None}
    return {"last_day": last, "origin": origin, "period": period}


def grace_end(clock, standard):
    """The last day on which the renewal still restores a lapsed skill."""
    grace = duration(standard.get("grace")) or duration(standard.get("valid_for"))
    if not grace:
        return clock["last_day"]
    period = clock["period"]
    if clock["origin"] and period[1] == 0 and grace[1] == 0:
        return add(clock["origin"], (period[0] + grace[0], 0))
    return add(clock["last_day"], grace)
