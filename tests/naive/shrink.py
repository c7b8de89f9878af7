"""Make a failing case smaller, so that a person can read it."""

from __future__ import annotations

import copy

# Keys whose value may be put back to what an absent one means.
PLAIN = {
    "stopped": None,
    "began": None,
    "second": None,
    "time": None,
    "known_at": None,
    "born": None,
    "from": None,
    "through": None,
    "is_patient": False,
    "older_sign_offs": "stand",
}
# Keys that may be left out altogether.
OPTIONAL = (
    "applies_when", "needs_authorisation", "on_change", "after_failure", "pass_mark", "valid_for", "first_valid_for",
    "valid_to", "grace", "signatures", "renewal", "setting", "role", "mode", "place", "days", "observers", "places",
    "within", "only_to_learn", "critical", "may_skip", "measure", "roles", "minimum_age", "patient_alone", "time",
)  # fmt: skip
# Lists that mean nothing, or are refused, when empty.
NEVER_EMPTY = {
    "observers", "needs", "renewal", "editions", "people", "signatures", "roles", "role", "setting", "mode", "place",
}  # fmt: skip


def smaller(case, fails):
    """Return the smallest case found by leaving things out for which ``fails(case)`` is still true.

    ``fails`` must be False for a case that is not valid. Greedy: the result cannot lose one more thing.
    """
    assert fails(case)
    tried, changed_since = 0, False
    while True:
        for n, candidate in enumerate(candidates(case)):
            if n >= tried and fails(candidate):
                case, tried, changed_since = candidate, n, True
                break
        else:
            if not changed_since:
                return case
            tried, changed_since = 0, False


def candidates(case):
    """Every case with one thing less; whole skills and caregivers first, small options last."""
    yield from without_a_skill(case)
    for path in sorted(lists_in(case), key=len):
        rows = at(case, path)
        if len(rows) > 4:
            half = len(rows) // 2
            yield changed(case, path, rows[half:])
            yield changed(case, path, rows[:half])
        needed = path[-1] in NEVER_EMPTY or path[-2:-1] == ("applies_when",)
        for n in reversed(range(len(rows) if len(rows) > 1 or not needed else 0)):
            yield changed(case, path, rows[:n] + rows[n + 1 :])
    yield from without_a_step(case)
    for path in dicts_in(case):
        attempt = at(case, path).get("kind") == "demonstration"
        for key, value in at(case, path).items():
            if attempt and key == "time":
                continue
            if key in OPTIONAL and may_go(path, key, value):
                yield without(case, (*path, key))
            if key in PLAIN and value != PLAIN[key]:
                yield changed(case, (*path, key), PLAIN[key])
            if key == "passes" and value > 1:
                yield changed(case, (*path, key), value - 1)
            if path[-1:] in (("facts",), ("on_change",), ("sets",), ("applies_when",)):
                yield without(case, (*path, key))
            if key in ("result",):
                yield changed(case, path, value)


def may_go(path, key, value):
    """Keep what only shares its name with an option, such as a demonstration's own setting."""
    return path[-2:-1] != ("records",) or (key == "time" and value is None)


def without_a_skill(case):
    for skill in [s["code"] for s in case["programme"]["skills"]]:
        less = copy.deepcopy(case)
        programme = less["programme"]
        programme["skills"] = [s for s in programme["skills"] if s["code"] != skill]
        for s in programme["skills"]:
            for edition in s["editions"]:
                edition["requires"] = [r for r in edition.get("requires") or [] if r["skill"] != skill]
        for rules in programme.get("rules") or []:
            rules["sets"] = {name: [c for c in codes if c != skill] for name, codes in rules["sets"].items()}
        gone = set()
        for rows in [less["qualifications"], less["authorisations"], *(c["records"] for c in less["caregivers"])]:
            gone |= {r["id"] for r in rows if r.get("skill") == skill}
            rows[:] = [r for r in rows if r.get("skill") != skill]
        yield drop_about(less, gone)


def drop_about(case, gone):
    """Leave out what is about records that are gone: voids, resolutions, overrides."""
    for caregiver in case["caregivers"]:
        about = {r["id"] for r in caregiver["records"] if r.get("record") in gone}
        gone = gone | about
        caregiver["records"] = [r for r in caregiver["records"] if r["id"] not in about]
    case["voids"] = [v for v in case["voids"] if v["record"] not in gone]
    return case


def without_a_step(case):
    for s, skill in enumerate(case["programme"]["skills"]):
        for e, edition in enumerate(skill["editions"]):
            for n, step in enumerate(edition.get("steps") or []):
                less = copy.deepcopy(case)
                del less["programme"]["skills"][s]["editions"][e]["steps"][n]
                for attempt in [r for c in less["caregivers"] for r in c["records"]]:
                    if (attempt.get("edition"), attempt.get("skill")) == (edition["edition"], skill["code"]):
                        for results in (attempt["results"], (attempt.get("second") or {}).get("results", {})):
                            results.pop(step["code"], None)
                yield less


# ---- paths ----


def lists_in(value, path=()):
    """Paths of the lists whose rows may be left out; steps have their own way."""
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, one in items:
        if isinstance(one, list) and one and key not in ("steps", "skills"):
            yield (*path, key)
        yield from lists_in(one, (*path, key))


def dicts_in(value, path=()):
    items = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    if isinstance(value, dict):
        yield path
    for key, one in items:
        yield from dicts_in(one, (*path, key))


def at(value, path):
    for key in path:
        value = value[key]
    return value


def changed(case, path, new):
    less = copy.deepcopy(case)
    gone = {r["id"] for r in at(less, path) if isinstance(r, dict) and "id" in r} if isinstance(new, list) else set()
    at(less, path[:-1])[path[-1]] = copy.deepcopy(new)
    gone -= {r["id"] for r in new if isinstance(r, dict) and "id" in r} if isinstance(new, list) else set()
    return drop_about(less, gone) if gone else less


def without(case, path):
    less = copy.deepcopy(case)
    del at(less, path[:-1])[path[-1]]
    return less
