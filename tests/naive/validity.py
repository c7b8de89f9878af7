"""The refusals of section 5, as far as made-up histories could break them."""

from __future__ import annotations

from collections import Counter
from datetime import date

from .pieces import day, facts_at, instant, known, steps_of


def problems(case):
    """Return a line for every refusal a case would meet; a valid case gives none."""
    return [*ids(case), *programme(case), *care_plan(case), *own_records(case), *late_enough(case)]


def everything(case):
    for group in ("qualifications", "care_plan", "authorisations", "items", "exceptions"):
        yield from case[group]
    for caregiver in case["caregivers"]:
        yield from caregiver["records"]


def ids(case):
    records = {r["id"] for r in everything(case)}
    counts = Counter([r["id"] for r in everything(case)] + [v["id"] for v in case["voids"]])
    yield from (f"id {i} twice" for i, n in counts.items() if n > 1)
    yield from (f"{v['id']} voids nothing" for v in case["voids"] if v["record"] not in records)


def programme(case):
    skills = {s["code"]: s for s in case["programme"]["skills"]}
    for code, skill in skills.items():
        firsts = [e["in_force_from"] for e in skill["editions"]]
        if firsts != sorted(set(firsts)) or not firsts:
            yield f"{code}: editions out of order"
        for edition in skill["editions"]:
            if instant(edition["recorded_at"]).date() >= day(edition["in_force_from"]):
                yield f"{code}: edition recorded too late"
            if any(r["skill"] not in skills or r["skill"] == code for r in edition.get("requires") or []):
                yield f"{code}: requires what is not there"
            if any(s.get("critical") and s.get("may_skip") for s in edition.get("steps") or []):
                yield f"{code}: a critical step may be skipped"
            steps = Counter(s["code"] for s in edition.get("steps") or [])
            if any(n > 1 for n in steps.values()):
                yield f"{code}: step twice"
    requires = {c: {r["skill"] for e in s["editions"] for r in e.get("requires") or []} for c, s in skills.items()}
    while free := [c for c, needed in requires.items() if not needed & requires.keys()]:
        for code in free:
            del requires[code]
    if requires:
        yield f"a circle of prerequisites: {sorted(requires)}"
    for rules in case["programme"]["rules"]:
        if any(c not in skills for codes in rules["sets"].values() for c in codes):
            yield "a set of unknown skills"
        if any(p["set"] not in rules["sets"] for a in rules["team"] for p in a["people"]):
            yield "a team of an unknown set"


def care_plan(case):
    moments = [instant(r["recorded_at"]) for r in case["care_plan"] + case["voids"]]
    for moment in moments:
        days = Counter(e["on"] for e in known(case, case["care_plan"], moment))
        yield from (f"two entries on {d} as known at {moment}" for d, n in days.items() if n > 1)


def own_records(case):
    skills = {s["code"]: s for s in case["programme"]["skills"]}
    for caregiver in case["caregivers"]:
        attempts = {r["id"]: r for r in caregiver["records"] if r["kind"] == "demonstration"}
        for record in caregiver["records"]:
            if record.get("skill") is not None and record["skill"] not in skills:
                yield f"{record['id']}: unknown skill"
            elif record["kind"] in ("resolution", "override"):
                about = attempts.get(record["record"])
                if about is None or (record["kind"] == "resolution" and not about["second"]):
                    yield f"{record['id']}: about nothing"
            elif record["kind"] == "demonstration":
                yield from (f"{record['id']}: {p}" for p in attempt(case, caregiver, skills[record["skill"]], record))
            elif record["kind"] == "certificate" and "steps" in skills[record["skill"]]["editions"][0]:
                yield f"{record['id']}: a certificate where none is asked for"


def attempt(case, caregiver, skill, record):
    on = day(record["on"])
    edition = next((e for e in skill["editions"] if e["edition"] == record["edition"]), None)
    plan = known(case, case["care_plan"], instant(record["recorded_at"]))
    first = min((day(e["on"]) for e in plan), default=None)
    if edition is None or on < day(edition["in_force_from"]) or "steps" not in edition:
        yield "no such edition yet"
        return
    if first is None or on < first:
        yield "no care plan yet"
        return
    if record["began"] and not first <= day(record["began"]) < on:
        yield "began too early or too late"
    facts = facts_at(plan, on, record["time"])
    if facts is None:
        yield "before the first entry of the care plan's first day"
        return
    second = record["second"] or {"observer": None, "results": None}
    if caregiver["id"] in (*record["observers"], second["observer"]):
        yield "observed by the caregiver"
    if second["observer"] == record["observers"][0] or not record["observers"]:
        yield "observers"
    steps = {s["code"]: s for s in steps_of(edition, record["role"], facts)}
    for results in [record["results"]] + ([second["results"]] if record["second"] else []):
        if set(results) != set(steps):
            yield "results for other steps than those that apply"
            continue
        for code, result in results.items():
            word, value = (result, None) if isinstance(result, str) else (result["result"], result.get("value"))
            if word == "independent" and value is None and "measure" in steps[code]:
                yield f"{code}: no value"
            if word == "not_applicable" and not steps[code].get("may_skip"):
                yield f"{code}: may not be skipped"
        words = [results[code] for code in steps]
        if record["stopped"] and (not words or words[-1] != "not_seen"):
            yield "stopped, but seen to the end"


def late_enough(case):
    for record in everything(case):
        own = record.get("on") or record.get("from")
        if own and instant(record["recorded_at"]).date() < date.fromisoformat(own):
            yield f"{record['id']}: recorded before it happened"
        if own is None and "record" not in record:
            yield f"{record['id']}: no date"
        elif record.get("through") and record["through"] < own:
            yield f"{record['id']}: through before from"
