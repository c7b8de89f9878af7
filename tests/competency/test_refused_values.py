"""Values of another kind, and keys that are missing or nobody asked for: each refused with its path and its words."""

from __future__ import annotations

import json

import pytest

from competency.fields import RefusedError
from competency.reading import read_case
from tests.competency.build import EARLY, FIRST, data, edition, other, skill, standard
from tests.competency.build import shown as attempt

RECORD = "caregivers[0].records[0]"
EDITION = "programme.skills[0].editions[0]"
STANDARD = f"{EDITION}.standard"
NEED = f"{STANDARD}.needs[0]"
RULES = "programme.rules[0]"
TEAM = f"{RULES}.team[0]"
GONE = object()

DATE = "not a date such as 2025-02-03"
INSTANT = "not an instant with an offset such as 2025-02-03T10:20:00Z"
TIME = "not a time such as 10:00"
TEXT = "not a text of at least one character"
FLAG = "not true or false"
PERIOD = "not a period above zero such as P30D, P3M or P1Y"
KINDS = "demonstration, certificate, accepted, signature, hold, recheck, withdrawal, resolution, override"


def whole():
    """A case with one of everything that can be read."""
    full = {
        "in_force_from": FIRST,
        "recorded_at": EARLY,
        "sets": {"full": ["s"]},
        "team": [{"name": "one", "people": [{"set": "full", "count": 1, "minimum_age": 18}], "patient_alone": False}],
        "items": [{"code": "kit", "valid_for": "P30D"}],
    }
    steps = [
        {"code": "a", "critical": True, "roles": ["lead"], "applies_when": {"cuff": ["none"]}},
        {"code": "b", "may_skip": True, "measure": {"unit": "s", "low": 5, "high": 15}},
    ]
    first = edition(
        older_sign_offs=None,
        applies_when={"suction": [True]},
        needs_authorisation=False,
        requires=[],
        on_change={"cuff": "recheck", "tube_id_mm": {"recheck_by": "P7D"}},
        standard=standard(valid_for="P6M", first_valid_for="P1M", grace="P0D", pass_mark=80, signatures=["educator"]),
        steps=steps,
    )
    later = edition(2, in_force_from="2025-02-01", older_sign_offs={"recheck_by": "2025-03-01"})
    card = skill("card", {k: v for k, v in edition(standard={"evidence": "certificate"}).items() if k != "steps"})
    needing = skill("t", edition(requires=[{"skill": "s", "within": "P3M", "only_to_learn": True}]))
    results = {"a": "independent", "b": {"result": "independent", "value": 10}}
    records = [
        attempt("2025-01-10", id="d", results=results, second={"observer": "rn2", "results": results}, began="2025-01-09"),
        other("certificate", "2025-01-10", skill="card", through="2025-06-01"),
        other("accepted", "2025-01-10", last_day="2025-06-01", organisation="North"),
        other("signature", "2025-01-10", by="educator"),
        other("hold", "2025-01-10", through="2025-01-12", reason="ill"),
        other("recheck", "2025-01-10", reason="an incident"),
        other("withdrawal", "2025-01-10", reason="unsafe", cover="a nurse"),
        {"kind": "resolution", "id": "r", "record": "d", "take": "lead", "recorded_at": "2025-01-20T08:00:00Z"},
        {"kind": "override", "id": "o", "record": "d", "reason": "sound", "recorded_at": "2025-01-20T08:00:00Z"},
    ]  # fmt: skip
    stamp = {"recorded_at": "2025-01-20T08:00:00Z"}
    made = data(
        programme={"code": "p", "skills": [skill("s", first, later), card, needing], "rules": [full]},
        authorisations=[{"id": "a", "skill": "s", "from": FIRST, "through": "2025-06-01"} | stamp],
        items=[{"id": "i", "item": "kit", "on": FIRST} | stamp],
        exceptions=[
            {"id": "x", "missing": "team", "from": FIRST, "through": "2025-02-01", "by": "s1", "reason": "r"} | stamp
        ],
        caregivers=[
            {
                "id": "ana",
                "born": "1990-05-01",
                "is_patient": False,
                "from": None,
                "through": "2026-01-01",
                "sets": ["full"],
                "records": records,
            }
        ],
        voids=[{"id": "v", "record": "o", "reason": "typed twice"} | stamp],
        known_at="2025-06-01T00:00:00Z",
    )
    return json.loads(json.dumps(made))  # no part of it twice


def keys(path):
    """``caregivers[0].born`` as the keys that lead there."""
    return [int(part) if part.isdigit() else part for part in path.replace("]", "").replace("[", ".").split(".")]


def changed(path, value):
    """The whole case with another value at one path; GONE takes the key away."""
    case = whole()
    *way, last = keys(path)
    inner = case
    for key in way:
        inner = inner[key]
    if value is GONE:
        del inner[last]
    else:
        inner[last] = value
    return case


def problems(case):
    with pytest.raises(RefusedError) as refusal:
        read_case(case)
    return [(p.path, p.message) for p in refusal.value.problems]


def test_the_whole_case_is_taken():
    assert read_case(whole()).on.isoformat() == "2025-03-01"


# A value of another kind ----------------------------------------------------------------------------------

ANOTHER_KIND = [
    # texts
    ("programme.code", "", f'is "", {TEXT}'),
    ("programme.code", None, f"is None, {TEXT}"),
    ("programme.skills[0].code", 5, f"is 5, {TEXT}"),
    (f"{EDITION}.steps[0].code", ["a"], f"is ['a'], {TEXT}"),
    (f"{EDITION}.steps[1].measure.unit", "", f'is "", {TEXT}'),
    ("programme.skills[2].editions[0].requires[0].skill", 1, f"is 1, {TEXT}"),
    (f"{RULES}.items[0].code", 1, f"is 1, {TEXT}"),
    (f"{TEAM}.name", 1, f"is 1, {TEXT}"),
    (f"{TEAM}.people[0].set", 1, f"is 1, {TEXT}"),
    ("qualifications[0].observer", 1, f"is 1, {TEXT}"),
    ("qualifications[0].skill", 1, f"is 1, {TEXT}"),
    ("qualifications[0].id", None, f"is None, {TEXT}"),
    ("authorisations[0].skill", None, f"is None, {TEXT}"),
    ("items[0].item", None, f"is None, {TEXT}"),
    ("exceptions[0].missing", None, f"is None, {TEXT}"),
    ("exceptions[0].by", None, f"is None, {TEXT}"),
    ("exceptions[0].reason", "", f'is "", {TEXT}'),
    ("voids[0].record", None, f"is None, {TEXT}"),
    ("voids[0].reason", "", f'is "", {TEXT}'),
    ("caregivers[0].id", None, f"is None, {TEXT}"),
    (f"{RECORD}.id", "", f'is "", {TEXT}'),
    (f"{RECORD}.skill", None, f"is None, {TEXT}"),
    (f"{RECORD}.second.observer", "", f'is "", {TEXT}'),
    ("caregivers[0].records[2].organisation", "", f'is "", {TEXT}'),
    ("caregivers[0].records[4].reason", 1, f"is 1, {TEXT}"),
    ("caregivers[0].records[5].reason", None, f"is None, {TEXT}"),
    ("caregivers[0].records[6].reason", None, f"is None, {TEXT}"),
    ("caregivers[0].records[6].cover", "", f'is "", {TEXT}'),
    ("caregivers[0].records[7].record", None, f"is None, {TEXT}"),
    ("caregivers[0].records[8].reason", "", f'is "", {TEXT}'),
    # days, instants, times
    ("on", None, f"is None, {DATE}"),
    ("on", "2025-3-1", f'is "2025-3-1", {DATE}'),
    ("on", "20250301", f'is "20250301", {DATE}'),
    ("on", "2025-W09-6", f'is "2025-W09-6", {DATE}'),
    (f"{EDITION}.in_force_from", "soon", f'is "soon", {DATE}'),
    ("programme.skills[0].editions[1].older_sign_offs.recheck_by", "soon", f'is "soon", {DATE}'),
    (f"{RULES}.in_force_from", 1, f"is 1, {DATE}"),
    ("qualifications[0].from", None, f"is None, {DATE}"),
    ("qualifications[0].through", 1, f"is 1, {DATE}"),
    ("care_plan[0].on", "x", f'is "x", {DATE}'),
    ("items[0].on", None, f"is None, {DATE}"),
    ("caregivers[0].from", 1, f"is 1, {DATE}"),
    ("caregivers[0].through", 1, f"is 1, {DATE}"),
    (f"{RECORD}.on", None, f"is None, {DATE}"),
    (f"{RECORD}.began", 1, f"is 1, {DATE}"),
    ("caregivers[0].records[1].through", 1, f"is 1, {DATE}"),
    ("caregivers[0].records[2].last_day", 1, f"is 1, {DATE}"),
    ("caregivers[0].records[4].through", 1, f"is 1, {DATE}"),
    ("known_at", "2025-01-01", f'is "2025-01-01", {INSTANT}'),
    (f"{EDITION}.recorded_at", None, f"is None, {INSTANT}"),
    (f"{RULES}.recorded_at", "x", f'is "x", {INSTANT}'),
    ("qualifications[0].recorded_at", "2025-01-01T08:00Zulu", f'is "2025-01-01T08:00Zulu", {INSTANT}'),
    (f"{RECORD}.recorded_at", "2025-02-30T08:00:00Z", f'is "2025-02-30T08:00:00Z", {INSTANT}'),
    (f"{RECORD}.time", None, f"is None, {TIME}"),
    ("caregivers[0].records[3].time", "9:00", f'is "9:00", {TIME}'),
    (f"{RECORD}.time", "24:00", f'is "24:00", {TIME}'),
    # words
    ("caregivers[0].records[1].kind", "wish", f'is "wish", not one of {KINDS}'),
    (f"{RECORD}.kind", None, f"is None, not one of {KINDS}"),
    (f"{RECORD}.purpose", "play", 'is "play", not one of assessment, practice'),
    (f"{RECORD}.setting", None, "is None, not one of model, simulation, patient"),
    (f"{RECORD}.role", "leader", 'is "leader", not one of lead, assist'),
    (f"{RECORD}.mode", "video", 'is "video", not one of in_person, remote'),
    (f"{RECORD}.place", ["home"], "is ['home'], not one of hospital, home, school, out"),
    (f"{RECORD}.stopped", "both", 'is "both", not one of patient, caregiver'),
    ("caregivers[0].records[3].by", "nobody", 'is "nobody", not one of caregiver, educator'),
    ("caregivers[0].records[7].take", None, "is None, not one of lead, second"),
    (f"{EDITION}.evidence", "hearsay", 'is "hearsay", not one of demonstration, certificate'),
    (f"{STANDARD}.evidence", "hearsay", 'is "hearsay", not one of demonstration, certificate'),
    (f"{STANDARD}.after_failure", "stop", 'is "stop", not one of restart, keep'),
    (f"{STANDARD}.valid_to", "week_end", 'is "week_end", not one of day, month_end'),
    (f"{STANDARD}.signatures", ["nurse"], "is ['nurse'], not a list of caregiver, educator"),
    (f"{STANDARD}.signatures", "educator", 'is "educator", not a list of caregiver, educator'),
    (f"{EDITION}.steps[0].roles", [], "is [], not a list of lead, assist"),
    (f"{EDITION}.older_sign_offs", "keep", 'is not "stand", "recheck" or {"recheck_by": date}'),
    ("programme.skills[0].editions[1].older_sign_offs", "restart", 'is not "stand", "recheck" or {"recheck_by": date}'),
    ("programme.skills[0].editions[1].older_sign_offs", 1, 'is not "stand", "recheck" or {"recheck_by": date}'),
    (f"{EDITION}.on_change.cuff", "stand", 'is not "recheck", "restart" or {"recheck_by": period}'),
    (f"{EDITION}.on_change.cuff", None, 'is not "recheck", "restart" or {"recheck_by": period}'),
    (f"{RECORD}.results.a", "fine", "is not one of independent, prompted, assisted, omitted, not_seen, not_applicable"),
    (f"{RECORD}.results.b.result", "fine", 'is "fine", not one of independent, prompted, assisted, omitted, not_seen, not_applicable'),
    # true or false
    (f"{EDITION}.needs_authorisation", 1, f"is 1, {FLAG}"),
    (f"{EDITION}.steps[0].critical", "yes", f'is "yes", {FLAG}'),
    (f"{EDITION}.steps[1].may_skip", 0, f"is 0, {FLAG}"),
    ("programme.skills[2].editions[0].requires[0].only_to_learn", 1, f"is 1, {FLAG}"),
    (f"{TEAM}.patient_alone", 1, f"is 1, {FLAG}"),
    ("caregivers[0].is_patient", 1, f"is 1, {FLAG}"),
    # numbers
    (f"{EDITION}.edition", 0, "is 0, not a whole number from 1 to 100000"),
    ("programme.skills[0].editions[1].edition", 100_001, "is 100001, not a whole number from 1 to 100000"),
    (f"{RECORD}.edition", 0, "is 0, not a whole number from 1 to 100000"),
    (f"{RECORD}.edition", 100_001, "is 100001, not a whole number from 1 to 100000"),
    (f"{RECORD}.edition", None, "is None, not a whole number from 1 to 100000"),
    (f"{STANDARD}.pass_mark", 101, "is 101, not a whole number from 0 to 100"),
    (f"{STANDARD}.pass_mark", -1, "is -1, not a whole number from 0 to 100"),
    (f"{STANDARD}.pass_mark", 79.6, "is 79.6, not a whole number from 0 to 100"),
    (f"{STANDARD}.pass_mark", True, "is True, not a whole number from 0 to 100"),
    (f"{TEAM}.people[0].count", 0, "is 0, not a whole number from 1 to 100"),
    (f"{TEAM}.people[0].count", 101, "is 101, not a whole number from 1 to 100"),
    (f"{TEAM}.people[0].minimum_age", 151, "is 151, not a whole number from 0 to 150"),
    (f"{TEAM}.people[0].minimum_age", -1, "is -1, not a whole number from 0 to 150"),
    (f"{EDITION}.steps[1].measure.low", "5", 'is "5", not a number'),
    (f"{EDITION}.steps[1].measure.high", True, "is True, not a number"),
    (f"{RECORD}.results.b.value", "10", 'is "10", not a number'),
    # periods
    (f"{STANDARD}.valid_for", "6 months", f'is "6 months", {PERIOD}'),
    (f"{STANDARD}.valid_for", 6, f"is 6, {PERIOD}"),
    (f"{STANDARD}.first_valid_for", "P0D", f'is "P0D", {PERIOD}'),
    (f"{STANDARD}.grace", "P", f'is "P", {PERIOD}'),
    ("programme.skills[2].editions[0].requires[0].within", "P0W", f'is "P0W", {PERIOD}'),
    (f"{EDITION}.on_change.tube_id_mm.recheck_by", "P7", f'is "P7", {PERIOD}'),
    (f"{EDITION}.on_change.tube_id_mm.recheck_by", None, "is missing"),
    (f"{RULES}.items[0].valid_for", "P0M", f'is "P0M", {PERIOD}'),
    # lists and objects
    ("programme.skills", {}, "is {}, not a list"),
    ("programme.skills[0].editions", [], "is empty"),
    (f"{EDITION}.requires", None, "is None, not a list"),
    (f"{EDITION}.on_change", [], "is [], not an object"),
    (f"{EDITION}.steps", None, "is None, not a list"),
    (f"{EDITION}.applies_when", [], "is [], not an object"),
    (f"{EDITION}.applies_when.suction", True, "is not a list of one or more values"),
    (f"{EDITION}.applies_when.suction", [], "is not a list of one or more values"),
    (f"{EDITION}.applies_when.suction", [None], "is not a list of one or more values"),
    (f"{EDITION}.applies_when.suction", [True, ""], "is not a list of one or more values"),
    (f"{EDITION}.steps[0].applies_when.cuff", "none", "is not a list of one or more values"),
    (STANDARD, None, "is null, not an object"),
    (f"{STANDARD}.needs", None, "is null, not a list of needs"),
    (f"{STANDARD}.needs", [], "is empty"),
    (f"{STANDARD}.needs", "two", 'is "two", not a list'),
    (NEED, 1, "is not an object"),
    (f"{STANDARD}.renewal", [], "is empty"),
    (f"{STANDARD}.renewal", "one", 'is "one", not a list'),
    ("programme.rules", None, "is None, not a list"),
    (f"{RULES}.sets.day", "s", "is not a list of skills"),
    (f"{RULES}.sets.day", {"s": 1}, "is not a list of skills"),
    (f"{RULES}.sets.day", ["s", 1], "is not a list of skills"),
    (f"{RULES}.team", None, "is None, not a list"),
    (f"{TEAM}.people", [], "is empty"),
    (f"{RULES}.items", None, "is None, not a list"),
    ("qualifications", None, "is None, not a list"),
    ("care_plan[0].facts", [], "is [], not an object"),
    ("care_plan[0].facts.cuff", None, "is not true, false, a number or a text; leave an unknown fact out"),
    ("care_plan[0].facts.cuff", "", "is not true, false, a number or a text; leave an unknown fact out"),
    ("care_plan[0].facts.cuff", ["none"], "is not true, false, a number or a text; leave an unknown fact out"),
    ("caregivers[0].sets", None, "is None, not a list"),
    ("caregivers[0].sets[0]", 1, "is not the name of a set, or is there already"),
    ("caregivers[0].records", None, "is None, not a list"),
    (f"{RECORD}.observers", "rn1", 'is "rn1", not a list'),
    (f"{RECORD}.observers[0]", 1, "is not the id of an observer, or is there already"),
    (f"{RECORD}.observers[0]", "", "is not the id of an observer, or is there already"),
    (f"{RECORD}.results", [], "is [], not an object"),
    (f"{RECORD}.second.results", None, "is None, not an object"),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "message"), ANOTHER_KIND)
def test_a_value_of_another_kind_is_named_with_what_it_should_be(path, value, message):
    assert problems(changed(path, value)) == [(path, message)]


FOLLOWED = [
    ("programme", None, ["is not an object", "code: is missing", "skills: is missing", "rules: is missing"]),
    ("programme.skills[0]", 1, ["is not an object", "code: is missing", "editions: is missing"]),
    (f"{EDITION}.steps[1].measure", 5, ["is not an object", "unit: is missing"]),
    (STANDARD, 1, ["is not an object", "needs: is missing"]),
    ("care_plan[0]", 1, ["is not an object", "id: is missing", "recorded_at: is missing", "on: is missing", "facts: is missing"]),
    ("voids[0]", [], ["is not an object", "id: is missing", "recorded_at: is missing", "record: is missing", "reason: is missing"]),
    (f"{EDITION}", "x", ["is not an object", "edition: is missing", "in_force_from: is missing", "recorded_at: is missing", "older_sign_offs: is missing", "standard: is missing", "steps: is missing"]),
]  # fmt: skip


@pytest.mark.parametrize(("path", "value", "messages"), FOLLOWED, ids=[row[0] for row in FOLLOWED])
def test_what_is_no_object_lacks_all_it_should_hold(path, value, messages):
    found = [
        f"{p.removeprefix(path).lstrip('.')}: {message}".removeprefix(": ")
        for p, message in problems(changed(path, value))
    ]

    assert found == messages


# Keys that are missing, keys nobody asked for -------------------------------------------------------------

MAY_BE_ABSENT = frozenset(
    [
        "programme.skills[0].editions[0].older_sign_offs",
        "programme.skills[1].editions[0].older_sign_offs",
        "programme.skills[2].editions[0].older_sign_offs",
        "programme.skills[0].editions[0].standard.needs[0].passes",
        "programme.skills[0].editions[1].standard.needs[0].passes",
        "programme.skills[2].editions[0].standard.needs[0].passes",
        "programme.skills[0].editions[0].standard.valid_for",
        "programme.skills[0].editions[0].standard.first_valid_for",
        "programme.skills[0].editions[0].standard.grace",
        "programme.skills[0].editions[0].standard.pass_mark",
        "programme.skills[0].editions[0].standard.signatures",
        "programme.skills[0].editions[0].steps[0].critical",
        "programme.skills[0].editions[0].steps[0].roles",
        "programme.skills[0].editions[0].steps[0].applies_when",
        "programme.skills[0].editions[0].steps[0].applies_when.cuff",
        "programme.skills[0].editions[0].steps[1].may_skip",
        "programme.skills[0].editions[0].steps[1].measure.low",
        "programme.skills[0].editions[0].steps[1].measure.high",
        "programme.skills[0].editions[1].steps[0].critical",
        "programme.skills[2].editions[0].steps[0].critical",
        "programme.skills[0].editions[0].applies_when",
        "programme.skills[0].editions[0].applies_when.suction",
        "programme.skills[0].editions[0].needs_authorisation",
        "programme.skills[0].editions[0].requires",
        "programme.skills[0].editions[0].on_change",
        "programme.skills[0].editions[0].on_change.cuff",
        "programme.skills[0].editions[0].on_change.tube_id_mm",
        "programme.skills[2].editions[0].requires",
        "programme.skills[2].editions[0].requires[0].within",
        "programme.skills[2].editions[0].requires[0].only_to_learn",
        "programme.rules[0].team[0].people[0].minimum_age",
        "programme.rules[0].team[0].patient_alone",
        "programme.rules[0].items[0].valid_for",
        "qualifications",
        "qualifications[0].skill",
        "qualifications[0].through",
        "qualifications[1].skill",
        "qualifications[1].through",
        "care_plan[0].facts.suction",
        "care_plan[0].facts.cuff",
        "care_plan[0].facts.tube_id_mm",
        "caregivers[0].born",
        "caregivers[0].is_patient",
        "caregivers[0].from",
        "caregivers[0].through",
        "caregivers[0].sets",
        "caregivers[0].records[0].began",
        "caregivers[0].records[1].through",
        "caregivers[0].records[2].last_day",
        "caregivers[0].records[4].skill",
        "caregivers[0].records[4].through",
        "caregivers[0].records[4].reason",
        "caregivers[0].records[5].skill",
        "authorisations",
        "authorisations[0].through",
        "items",
        "exceptions",
        "voids",
        "known_at",
    ]
)
NO_STEP = "this step is not measured"
NO_SET = (f"{TEAM}.people[0].set", '"full" is no set of these rules')
CARD = "programme.skills[1].editions[0]"
MISSED_ELSEWHERE = {
    f"{EDITION}.steps[1].measure": [
        (f"{RECORD}.results.b.value", NO_STEP),
        (f"{RECORD}.second.results.b.value", NO_STEP),
    ],
    f"{CARD}.standard": [(f"{CARD}.standard", "is missing"), (f"{CARD}.steps", "is missing")],
    f"{CARD}.standard.evidence": [(f"{CARD}.standard.needs", "is missing"), (f"{CARD}.steps", "is missing")],
    f"{RULES}.sets": [(f"{RULES}.sets", "is missing"), NO_SET],
    f"{RULES}.sets.full": [NO_SET],
    f"{RULES}.items": [("items[0].item", '"kit" is no item of the programme')],
    "programme": [
        ("programme", "is missing"),
        ("programme", "is not an object"),
        ("programme.code", "is missing"),
        ("programme.skills", "is missing"),
        ("programme.rules", "is missing"),
    ],
    "care_plan": [(f"{RECORD}.on", "there was no care plan when this was recorded")],
    "caregivers": [("voids[0].record", '"o" is no record here')],
    "caregivers[0].records": [("voids[0].record", '"o" is no record here')],
    f"{RECORD}.results.b.value": [(f"{RECORD}.results.b", "needs a number: it is measured")],
    f"{RECORD}.second": [("caregivers[0].records[7].record", '"d" had no second observer')],
    f"{RECORD}.second.results.b.value": [(f"{RECORD}.second.results.b", "needs a number: it is measured")],
    "exceptions[0].through": [("exceptions[0].through", "is missing: an exception has a last day")],
}


def walk(value, path=""):
    """Every path of a case, with what stands there."""
    inner = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in inner:
        at = f"{path}[{key}]" if isinstance(key, int) else f"{path}.{key}".removeprefix(".")
        yield at, item
        yield from walk(item, at)


KEYS = [path for path, _ in walk(whole()) if not path.endswith("]")]


@pytest.mark.parametrize("path", [path for path in KEYS if path in MAY_BE_ABSENT])
def test_what_may_be_absent(path):
    assert read_case(changed(path, GONE)).on.isoformat() == "2025-03-01"


@pytest.mark.parametrize("path", [path for path in KEYS if path not in MAY_BE_ABSENT])
def test_what_may_not_be_absent(path):
    assert problems(changed(path, GONE)) == MISSED_ELSEWHERE.get(path, [(path, "is missing")])


NAMES_OF_ANY_KIND = ("facts", "results", "applies_when", "on_change", "sets")
OBJECTS = [
    path
    for path, item in walk(whole())
    if isinstance(item, dict)
    and path.rsplit(".", 1)[-1] not in NAMES_OF_ANY_KIND
    and path != f"{CARD}.standard"  # where it cannot be read, nothing says that a card has no steps
]


@pytest.mark.parametrize("path", OBJECTS)
def test_a_key_that_nobody_knows(path):
    assert problems(changed(f"{path}.colour", "red")) == [(f"{path}.colour", "is not a key that is known here")]


# The last value that is taken -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("path", "value"),
    [
        (f"{EDITION}.edition", 1),
        ("programme.skills[0].editions[1].edition", 100_000),
        (f"{STANDARD}.pass_mark", 0),
        (f"{STANDARD}.pass_mark", 100),
        (f"{NEED}.passes", 1_000),
        (f"{NEED}.days", 1_000),
        (f"{NEED}.observers", 1_000),
        (f"{NEED}.places", 4),
        (f"{TEAM}.people[0].count", 100),
        (f"{TEAM}.people[0].minimum_age", 0),
        (f"{TEAM}.people[0].minimum_age", 150),
        (f"{EDITION}.steps[1].measure.low", 10),
        (f"{EDITION}.steps[1].measure.low", 15),
        (f"{EDITION}.steps[1].measure.low", None),
        (f"{EDITION}.on_change.tube_id_mm.recheck_by", "P0D"),
        (f"{STANDARD}.valid_for", "P200Y"),
        ("programme.skills[0].editions[1].older_sign_offs.recheck_by", "2025-02-01"),
        ("caregivers[0].born", "1900-01-01"),
        ("caregivers[0].from", "2026-01-01"),
        ("caregivers[0].records[1].through", "2025-01-10"),
        ("caregivers[0].records[2].last_day", "2025-01-10"),
        ("caregivers[0].records[4].through", "2025-01-10"),
        ("authorisations[0].through", FIRST),
        ("exceptions[0].through", FIRST),
        (f"{RECORD}.time", "00:00"),
        (f"{RECORD}.time", "23:59:59"),
        (f"{RECORD}.stopped", None),
        (f"{RECORD}.results.b", "omitted"),
        ("exceptions[0].missing", "fact:oxygen"),
        ("exceptions[0].missing", "item:kit"),
        (f"{EDITION}.steps[0].measure", None),
        (f"{STANDARD}.signatures", []),
        (f"{STANDARD}.needs", {"passes": 2}),
        (f"{STANDARD}.renewal", None),
        ("caregivers[0].records[4].reason", None),
    ],
)
def test_the_last_value_that_is_taken(path, value):
    assert read_case(changed(path, value)).on.isoformat() == "2025-03-01"


@pytest.mark.parametrize(
    ("key", "value", "high"), [("passes", 1_001, 1_000), ("days", 1_001, 1_000), ("observers", 1_001, 1_000), ("places", 5, 4)]
)  # fmt: skip
@pytest.mark.parametrize("needs", ["needs", "renewal"])
def test_a_count_of_a_need(needs, key, value, high):
    message = f"is {value}, not a whole number from 1 to {high}"

    assert problems(changed(f"{STANDARD}.{needs}", [{key: value}])) == [(f"{STANDARD}.{needs}[0].{key}", message)]


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("setting", "model, simulation, patient"),
        ("role", "lead, assist"),
        ("mode", "in_person, remote"),
        ("place", "hospital, home, school, out"),
    ],
)
def test_a_filter_of_a_need(key, words):
    message = f"is ['else'], not a list of {words}"

    assert problems(changed(f"{NEED}.{key}", ["else"])) == [(f"{NEED}.{key}", message)]


@pytest.mark.parametrize("needs", ["needs", "renewal"])
def test_one_need_may_stand_without_its_list(needs):
    message = "is 0, not a whole number from 1 to 1000"

    assert problems(changed(f"{STANDARD}.{needs}", {"passes": 0})) == [(f"{STANDARD}.{needs}.passes", message)]
