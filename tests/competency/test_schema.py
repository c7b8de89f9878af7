"""The JSON Schema of a case and the parser say the same (design 5, issue B)."""

from __future__ import annotations

import copy
import json
import random
import re
import subprocess
import sys

import pytest
from jsonschema import Draft202012Validator

from competency.fields import Fields, RefusedError
from competency.reading import parse, read_case
from competency.schema import case_schema
from tests.competency.build import FIRST, data, edition, failed, other, plan, shown, skill, standard
from tests.naive.histories import SIZES, make_case

SCHEMA = case_schema()
VALIDATOR = Draft202012Validator(SCHEMA, format_checker=Draft202012Validator.FORMAT_CHECKER)

# Section 5 of the design, whole, without the void of an id that does not exist.
EXAMPLE = parse(
    """
{"programme": {"code": "sample",
   "skills": [
     {"code": "suction", "editions": [{"edition": 1, "in_force_from": "2025-01-01", "recorded_at": "2024-12-01T09:00:00Z", "older_sign_offs": "stand",
        "applies_when": {"suction": [true]}, "needs_authorisation": true, "requires": [], "on_change": {"tube_id_mm": {"recheck_by": "P7D"}},
        "standard": {"needs": [{"passes": 2, "setting": ["patient"], "days": 2}], "after_failure": "restart", "pass_mark": 80,
                     "valid_for": "P6M", "grace": "P30D"},
        "steps": [{"code": "a", "critical": true}, {"code": "b", "may_skip": true}, {"code": "c", "measure": {"unit": "s", "high": 15}},
                  {"code": "d", "applies_when": {"cuff": ["air"]}, "roles": ["lead"]}]}]},
     {"code": "tube", "editions": [{"edition": 1, "in_force_from": "2025-01-01", "recorded_at": "2024-12-01T09:00:00Z", "older_sign_offs": "stand",
        "requires": [{"skill": "suction"}], "standard": {"needs": [{"passes": 1, "setting": ["patient"], "role": ["lead"]}]},
        "steps": [{"code": "a", "critical": true}]}]}],
   "rules": [{"in_force_from": "2025-01-01", "recorded_at": "2024-12-01T09:00:00Z", "sets": {"full": ["suction", "tube"]},
              "team": [{"name": "two full", "people": [{"set": "full", "count": 2, "minimum_age": 18}]}],
              "items": [{"code": "kit", "valid_for": "P30D"}]}]},
 "qualifications": [{"id": "q1", "observer": "rn1", "skill": null, "from": "2024-01-01", "through": null, "recorded_at": "2024-01-01T09:00:00Z"}],
 "care_plan": [{"id": "p1", "on": "2025-02-01", "time": null, "facts": {"suction": true, "cuff": "none", "tube_id_mm": 5.0}, "recorded_at": "2025-02-01T09:00:00Z"}],
 "authorisations": [{"id": "a1", "skill": "suction", "from": "2025-02-02", "through": null, "recorded_at": "2025-02-02T09:00:00Z"}],
 "items": [{"id": "i1", "item": "kit", "on": "2025-03-01", "recorded_at": "2025-03-01T09:00:00Z"}],
 "exceptions": [{"id": "x1", "missing": "team", "from": "2025-03-01", "through": "2025-03-14", "by": "s1", "reason": "...", "recorded_at": "2025-03-01T09:00:00Z"}],
 "caregivers": [{"id": "ana", "born": "1990-05-01", "is_patient": false, "from": null, "through": null, "sets": ["full"], "records": [
    {"kind": "demonstration", "id": "d1", "purpose": "assessment", "on": "2025-02-03", "time": "10:00", "skill": "suction", "edition": 1,
     "setting": "patient", "role": "lead", "mode": "in_person", "place": "hospital", "observers": ["rn1"],
     "results": {"a": "independent", "b": "not_applicable", "c": {"result": "independent", "value": 12}},
     "second": null, "stopped": null, "began": null, "recorded_at": "2025-02-03T10:20:00Z"}]}],
 "voids": [],
 "on": "2025-03-01", "known_at": null}
"""
)


def rich():
    """A valid case in which every key of every object stands at least once."""
    need = {"passes": 2, "days": 1, "observers": 1, "places": 1, "within": "P3M", "setting": ["patient"]}
    need |= {"role": ["lead"], "mode": ["in_person"], "place": ["hospital", "home"]}
    full = {"evidence": "demonstration", "needs": [need], "renewal": {"passes": 1}, "after_failure": "keep"}
    full |= {"pass_mark": 80, "valid_for": "P1Y", "first_valid_for": "P6M", "valid_to": "month_end", "grace": "P0D"}
    full |= {"signatures": ["caregiver", "educator"]}
    measured = {"code": "b", "critical": False, "may_skip": True, "roles": ["lead", "assist"]}
    measured |= {"applies_when": {"suction": [True]}, "measure": {"unit": "s", "low": 1, "high": 15.5}}
    measured["measure"]["order"] = {"low": "suction_s_low", "high": "suction_s"}
    first = edition(
        applies_when={"suction": [True], "tube_id_mm": [5, "five"]},
        needs_authorisation=True,
        requires=[{"skill": "card", "within": "P1Y", "only_to_learn": True}],
        on_change={"cuff": "recheck", "tube_id_mm": {"recheck_by": "P0D"}},
        evidence="demonstration",
        standard=full,
        steps=[{"code": "a", "critical": True, "may_skip": False}, measured],
    )
    second = edition(2, in_force_from="2025-06-01", older_sign_offs={"recheck_by": "2025-07-01"})
    card = edition(evidence="certificate")
    del card["standard"], card["steps"]
    results = {"a": "independent", "b": {"result": "independent", "value": 4.5}}
    attempt = shown(
        "2025-01-10",
        results=results,
        second={"observer": "rn2", "results": copy.deepcopy(results)},
        stopped=None,
        began="2025-01-09",
    )
    stamp = {"recorded_at": "2025-01-20T08:00:00Z"}
    records = [
        attempt,
        other("certificate", "2025-01-05", skill="card", time="08:00", through="2027-01-31"),
        other("accepted", "2025-01-12", time=None, last_day="2025-12-31", organisation="elsewhere"),
        other("signature", "2025-01-13", time="09:00:30", by="caregiver"),
        other("hold", "2025-01-14", time=None, through="2025-01-16", reason="ill"),
        other("recheck", "2025-01-17", time=None, reason="asked for"),
        other("withdrawal", "2025-01-18", time=None, reason="unsafe", cover="a nurse"),
        {"kind": "resolution", "id": "r1", "record": attempt["id"], "take": "lead", "on": None, "time": None} | stamp,
        {"kind": "override", "id": "o1", "record": attempt["id"], "reason": "sound", "on": None, "time": None} | stamp,
    ]
    rules = {"in_force_from": FIRST, "recorded_at": "2024-12-01T09:00:00+01:00", "sets": {"full": ["s"]}}
    rules["team"] = [{"name": "one", "people": [{"set": "full", "count": 1, "minimum_age": 18}], "patient_alone": True}]
    rules["items"] = [{"code": "kit", "valid_for": "P30D"}]
    made = data(
        programme={"code": "p", "skills": [skill("s", first, second), skill("card", card)], "rules": [rules]},
        care_plan=[plan(time="07:30")],
        authorisations=[{"id": "a1", "skill": "s", "from": "2025-01-02", "through": None} | stamp],
        items=[{"id": "i1", "item": "kit", "on": "2025-01-03"} | stamp],
        exceptions=[
            {"id": "x1", "missing": "team", "from": FIRST, "through": "2025-02-01", "by": "s1", "reason": "r"} | stamp
        ],
        voids=[{"id": "v1", "record": "i1", "reason": "typed twice"} | stamp],
        known_at="2025-02-01T08:00:00.5Z",
    )
    who = {"id": "ana", "born": "1990-05-01", "is_patient": False, "from": FIRST, "through": None, "sets": ["full"]}
    made["caregivers"] = [who | {"records": records}]
    return copy.deepcopy(made)


def without_steps():
    made = edition(evidence="demonstration")
    del made["steps"]
    return data(skills=[skill("s", made)])


def problems_of(case):
    try:
        read_case(case)
    except RefusedError as refusal:
        return refusal.problems
    return ()


# Valid cases ----------------------------------------------------------------------------------------------


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(SCHEMA)


def test_it_ships_with_the_command():
    found = subprocess.run([sys.executable, "-m", "competency", "--schema"], capture_output=True, check=True)

    assert json.loads(found.stdout) == SCHEMA


@pytest.mark.parametrize(
    "case",
    [
        EXAMPLE,
        data(),
        data(shown("2025-01-10"), failed("2025-01-11")),
        data(other("hold", "2025-01-10"), other("signature", "2025-01-10", by="educator")),
        data(skills=[skill("s", edition(standard=standard(needs={"passes": 2}, valid_for="P1Y2M3W4D")))]),
        rich(),
    ],
    ids=["section 5", "empty", "attempts", "records", "one need alone", "rich"],
)
def test_both_take_a_valid_case(case):
    assert (list(VALIDATOR.iter_errors(case)), problems_of(case)) == ([], ())


def refused(size, seeds):
    cases = ((seed, make_case(random.Random(f"schema {size} {seed}"), size)) for seed in seeds)
    return [seed for seed, case in cases if problems_of(case) or not VALIDATOR.is_valid(case)]


@pytest.mark.parametrize("size", SIZES)
def test_both_take_made_up_cases(size):
    assert refused(size, range(10)) == []


@pytest.mark.long
@pytest.mark.parametrize("size", SIZES)
def test_both_take_a_hundred_made_up_cases_of_each_size(size):
    assert refused(size, range(100)) == []


# Structural mistakes --------------------------------------------------------------------------------------

EDITION = ("programme", "skills", 0, "editions", 0)
STANDARD = (*EDITION, "standard")
RULES = ("programme", "rules", 0)
ATTEMPT = ("caregivers", 0, "records", 0)


def changed(path, value, base=None):
    """The rich case with one value in another's place."""
    case = copy.deepcopy(base) if base is not None else rich()
    inner = case
    for part in path[:-1]:
        inner = inner[part]
    inner[path[-1]] = value
    return case


def without(path):
    case = rich()
    inner = case
    for part in path[:-1]:
        inner = inner[part]
    del inner[path[-1]]
    return case


MISTAKES = [
    ("no object", (*EDITION, "steps", 0), "a"),
    ("no list", ("voids",), {}),
    ("no list, null", ("caregivers",), None),
    ("a programme of nothing", ("programme",), None),
    ("a text that is empty", ("programme", "code"), ""),
    ("a text that is a number", ("caregivers", 0, "id"), 7),
    ("no editions", ("programme", "skills", 0, "editions"), []),
    ("an edition of zero", (*EDITION, "edition"), 0),
    ("an edition that is true", (*EDITION, "edition"), True),
    ("an edition of a half", (*ATTEMPT, "edition"), 1.5),
    ("a date of no calendar", ("on",), "2025-02-30"),
    ("a date of no leap year", ("on",), "2025-02-29"),
    ("a date before all dates", ("on",), "1899-12-31"),
    ("a date with a time", ("on",), "2025-03-01T00:00"),
    ("a date in another order", ("on",), "01-03-2025"),
    ("a date in other digits", ("on",), "٢٠٢٥-٠١-٠١"),
    ("an instant without offset", ("known_at",), "2025-02-01T08:00:00"),
    ("an instant of no clock", ("known_at",), "2025-02-01T24:00:00Z"),
    ("an instant in April's end", ("known_at",), "2025-04-31T08:00:00Z"),
    ("a time of no clock", (*ATTEMPT, "time"), "25:00"),
    ("a time in half", (*ATTEMPT, "time"), "9:00"),
    ("an attempt without a time", (*ATTEMPT, "time"), None),
    ("a period of zero", (*STANDARD, "valid_for"), "P0D"),
    ("a window of zero", (*STANDARD, "needs", 0, "within"), "P0M"),
    ("a period of hours", (*STANDARD, "valid_for"), "PT24H"),
    ("a period in another order", (*STANDARD, "valid_for"), "P1D1M"),
    ("a negative period", (*STANDARD, "grace"), "-P1D"),
    ("a period of nothing", (*STANDARD, "grace"), "P"),
    ("a period that is a number", (*STANDARD, "grace"), 30),
    ("no needs", (*STANDARD, "needs"), []),
    ("no renewal", (*STANDARD, "renewal"), []),
    ("a count of zero", (*STANDARD, "needs", 0, "passes"), 0),
    ("a negative count", (*STANDARD, "needs", 0, "days"), -1),
    ("five places of four", (*STANDARD, "needs", 0, "places"), 5),
    ("a count of a half", (*STANDARD, "needs", 0, "observers"), 1.5),
    ("an unknown setting", (*STANDARD, "needs", 0, "setting"), ["doll"]),
    ("a setting of none", (*STANDARD, "needs", 0, "setting"), []),
    ("a setting without its list", (*STANDARD, "needs", 0, "setting"), "patient"),
    ("a mark above all", (*STANDARD, "pass_mark"), 101),
    ("a mark below none", (*STANDARD, "pass_mark"), -1),
    ("a mark that is no whole", (*STANDARD, "pass_mark"), 79.5),
    ("an unknown end", (*STANDARD, "valid_to"), "year_end"),
    ("an unknown consequence", (*STANDARD, "after_failure"), "forgive"),
    ("an unknown signer", (*STANDARD, "signatures"), ["parent"]),
    ("an unknown evidence", (*STANDARD, "evidence"), "word"),
    ("no card and no demonstration", (*EDITION, "evidence"), "certificate"),
    ("an unknown fate of sign-offs", (*EDITION, "older_sign_offs"), "void"),
    ("a recheck by a period", (*EDITION, "older_sign_offs"), {"recheck_by": "P7D"}),
    ("a recheck by a date", (*EDITION, "on_change", "cuff"), {"recheck_by": "2025-02-01"}),
    ("a change that stands", (*EDITION, "on_change", "cuff"), "stand"),
    ("a change by nothing", (*EDITION, "on_change", "cuff"), {"recheck_by": None}),
    ("a condition without its list", (*EDITION, "applies_when", "suction"), True),
    ("a condition on nothing", (*EDITION, "applies_when", "suction"), []),
    ("a condition on null", (*EDITION, "applies_when", "suction"), [None]),
    ("a yes that is a word", (*EDITION, "needs_authorisation"), "yes"),
    ("a skippable critical step", (*EDITION, "steps", 0, "may_skip"), True),
    ("a step of no role", (*EDITION, "steps", 1, "roles"), []),
    ("a measure without a unit", (*EDITION, "steps", 1, "measure"), {"high": 15}),
    ("a limit that is a text", (*EDITION, "steps", 1, "measure", "high"), "15"),
    ("a set that is a text", (*RULES, "sets", "full"), "s"),
    ("a set with a skill twice", (*RULES, "sets", "full"), ["s", "s"]),
    ("a team of nobody", (*RULES, "team", 0, "people"), []),
    ("a team of zero", (*RULES, "team", 0, "people", 0, "count"), 0),
    ("an age below none", (*RULES, "team", 0, "people", 0, "minimum_age"), -1),
    ("an unknown kind", (*ATTEMPT, "kind"), "wish"),
    ("a purpose between", (*ATTEMPT, "purpose"), "exam"),
    ("an unknown setting of an attempt", (*ATTEMPT, "setting"), "doll"),
    ("an unknown role of an attempt", (*ATTEMPT, "role"), "watch"),
    ("an unknown mode", (*ATTEMPT, "mode"), "phone"),
    ("an unknown place", (*ATTEMPT, "place"), "bus"),
    ("stopped by nobody known", (*ATTEMPT, "stopped"), "nurse"),
    ("observed by nobody", (*ATTEMPT, "observers"), []),
    ("observed by one twice", (*ATTEMPT, "observers"), ["rn1", "rn1"]),
    ("an unknown result", (*ATTEMPT, "results", "a"), "great"),
    ("a result of null", (*ATTEMPT, "results", "a"), None),
    ("a value that is a text", (*ATTEMPT, "results", "b"), {"result": "independent", "value": "12"}),
    ("a value of a step not seen", (*ATTEMPT, "results", "b"), {"result": "not_seen", "value": 12}),
    ("an unknown word to resolve by", ("caregivers", 0, "records", 7, "take"), "both"),
    ("a signature of another", ("caregivers", 0, "records", 3, "by"), "friend"),
    ("an exception without end", ("exceptions", 0, "through"), None),
    ("a fact of null", ("care_plan", 0, "facts", "cuff"), None),
    ("a fact that is a list", ("care_plan", 0, "facts", "cuff"), ["air"]),
    ("a fact that is empty", ("care_plan", 0, "facts", "cuff"), ""),
    ("a set of one twice", ("caregivers", 0, "sets"), ["full", "full"]),
]  # fmt: skip


@pytest.mark.parametrize(("what", "path", "value"), MISTAKES, ids=[row[0] for row in MISTAKES])
def test_both_refuse_a_mistake(what, path, value):
    case = changed(path, value)

    assert (VALIDATOR.is_valid(case), bool(problems_of(case))) == (False, True), what


# Every key of every object --------------------------------------------------------------------------------


def objects(value, path=()):
    """Every object of a case with its path, outermost first."""
    if isinstance(value, dict):
        yield path, value
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield from objects(inner, (*path, key))


MAPS = ("facts", "applies_when", "on_change", "sets", "results")
KEYED = [(path, found) for path, found in objects(rich()) if not path or path[-1] not in MAPS]
KEYS = [(*path, key) for path, found in KEYED for key in found]


def written(path):
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in path).lstrip(".")


@pytest.mark.parametrize("path", [path for path, _ in KEYED], ids=lambda path: written(path) or "case")
def test_both_refuse_an_unknown_key(path):
    case = changed((*path, "nonsense"), 1)

    assert not VALIDATOR.is_valid(case)
    assert written((*path, "nonsense")) in [p.path for p in problems_of(case)]


# What no schema can hold: the parser refuses it for what another part of the case says.
CONTRADICTIONS = re.compile(
    r"is there already|is no |does not apply|has no edition|begin and were recorded|go in a circle|had no second"
    r"|is certified, not shown|is shown, not certified|had not been published|there was no care plan|is before "
    r"|is not after|differs from|is the (lead observer|caregiver)|is above high|may not be skipped|is not measured"
    r"|this step is not measured|is not a number, and|needs a number|nothing that can be missing|in force from|is not before on"
)
# What must be there depends on other parts: whether there is an older edition, and which steps the edition has.
DEPENDS = re.compile(r"\.older_sign_offs$|\.results\.[^.]+$")


def is_missing(problem):
    return problem.message == "is missing" and DEPENDS.search(problem.path)


def disagreement(case):
    """None where both take a case or both refuse it, or where only a contradiction is refused; else what differs."""
    valid, problems = VALIDATOR.is_valid(case), problems_of(case)
    structural = [p for p in problems if not CONTRADICTIONS.search(p.message) and not is_missing(p)]
    if valid and structural:
        return [str(p) for p in structural]
    return "the parser takes it" if not valid and not problems else None


@pytest.mark.parametrize("path", KEYS, ids=written)
def test_both_agree_on_a_key_left_out(path):
    assert disagreement(without(path)) is None


# The parser takes these, or ends in a traceback; see the findings at the end.
LATER = ("programme", "skills", 0, "editions", 1, "standard")
KNOWN = [(*STANDARD, "needs"), LATER, (*LATER, "needs")]


@pytest.mark.parametrize("path", [path for path in KEYS if path not in KNOWN], ids=written)
def test_both_agree_on_null(path):
    assert disagreement(changed(path, None)) is None


WRONG = [True, 0, -1, 1.5, 10**9, "", "word", "2025-02-30", "P0D", [], [[]], [{}], {}, {"recheck_by": 1}]


@pytest.mark.parametrize("path", KEYS, ids=written)
def test_both_agree_on_values_of_another_kind(path):
    base = rich()

    assert [(value, d) for value in WRONG if (d := disagreement(changed(path, value, base)))] == []


def asked_keys(case):
    """The keys that the parser asks for at each object, by path."""
    found = {}
    done = Fields.done

    def spy(fields):
        found[fields.path] = set(fields._asked)
        return done(fields)

    Fields.done = spy
    try:
        read_case(case)
    finally:
        Fields.done = done
    return found


def schema_keys(schema, value, path=()):
    """The keys that the schema knows at each object of a valid value, by path."""
    schema = SCHEMA["$defs"][schema["$ref"].rsplit("/", 1)[1]] if "$ref" in schema else schema
    for branch in schema.get("anyOf", ()):
        if VALIDATOR.evolve(schema=branch).is_valid(value):
            yield from schema_keys(branch, value, path)
    for branch in schema.get("allOf", ()):
        if VALIDATOR.evolve(schema=branch["if"]).is_valid(value):
            yield from schema_keys(branch["then"], value, path)
    if isinstance(value, list):
        for i, item in enumerate(value):
            yield from schema_keys(schema.get("items", {}), item, (*path, i))
    if not isinstance(value, dict):
        return
    if schema.get("additionalProperties") is False:
        yield written(path), set(schema["properties"])
    for key, inner in value.items():
        rest = schema.get("additionalProperties", {})
        below = schema.get("properties", {}).get(key, rest if isinstance(rest, dict) else {})
        yield from schema_keys(below, inner, (*path, key))


def test_the_schema_knows_exactly_the_keys_that_the_parser_asks_for():
    case = rich()

    assert dict(schema_keys(SCHEMA, case)) == asked_keys(case)


def test_the_rich_case_holds_every_key_there_is():
    """Else the tests above would pass over one: every object of the schema is met, with all its keys."""
    met = {}
    for path, found in KEYED:
        for keys in (frozenset(known) for at, known in schema_keys(SCHEMA, rich()) if at == written(path)):
            met[keys] = met.get(keys, set()) | set(found)

    assert {keys - found for keys, found in met.items()} == {frozenset()}


# Findings: what the parser should refuse and does not -----------------------------------------------------

HUGE = 10**400
FINDINGS = [
    ("1 needs of null: an IndexError", data(skills=[skill("s", edition(standard={"needs": None}))])),
    ("2 a standard of null: the edition is dropped in silence", data(skills=[skill("s", edition(standard=None))])),
    ("3 evidence named on the edition: its steps may be missing", without_steps()),
    ("4 a fact too large for a number: an OverflowError", data(care_plan=[plan(facts={"tube_id_mm": HUGE})])),
    (
        "5 a period in other digits is taken",
        data(skills=[skill("s", edition(standard=standard(valid_for="P\u0663D")))]),
    ),
    ("5 a time in other digits is taken", data(shown("2025-01-10", at="1\u0660:00"))),
]


@pytest.mark.parametrize(("what", "case"), FINDINGS, ids=[what for what, _ in FINDINGS])
def test_finding_both_refuse(what, case):
    assert (VALIDATOR.is_valid(case), bool(problems_of(case))) == (False, True), what
