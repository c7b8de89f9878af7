"""Every contradiction of design section 5 and issue B ("Bad input") is refused, with the path of the offending value."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest

from competency.fields import RefusedError
from competency.reading import parse, read_case
from tests.competency.build import EARLY, FIRST, data, edition, other, plan, shown, skill, standard

AT = "caregivers[0].records[0]"
EDITION = "programme.skills[0].editions[0]"
STAMP = {"recorded_at": "2025-01-20T08:00:00Z"}


def problems(case):
    with pytest.raises(RefusedError) as refusal:
        read_case(case)
    return [(p.path, p.message) for p in refusal.value.problems]


def paths(case):
    return [path for path, _ in problems(case)]


def one(**changes):
    return data(skills=[skill("s", edition(**changes))])


def needing(**need):
    return one(standard=standard(needs=[need]))


def ruled(**changes):
    rules = {
        "in_force_from": FIRST,
        "recorded_at": EARLY,
        "sets": {"full": ["s"]},
        "team": [],
        "items": [{"code": "kit"}],
    }
    return {"code": "p", "skills": [skill()], "rules": [rules | changes]}


def two(**changes):
    """Two editions, the second with changes."""
    later = edition(2, in_force_from="2025-02-01", recorded_at="2025-01-15T09:00:00Z")
    return data(skills=[skill("s", edition(), later | changes)])


def people(*names, **changes):
    return [{"id": name, "sets": [], "records": []} | changes for name in names]


def void(record, id_="v1"):
    return {"id": id_, "record": record, "reason": "x"} | STAMP


def word(kind, record, **fields):
    return {"kind": kind, "id": kind, "record": record} | STAMP | fields


ATTEMPT = shown("2025-01-10")
CARD = skill("card", {k: v for k, v in edition(standard={"evidence": "certificate"}).items() if k != "steps"})
STEPS = [
    {"code": "a", "critical": True},
    {"code": "b", "may_skip": True, "measure": {"unit": "s", "low": 5, "high": 15}},
    {"code": "c", "applies_when": {"cuff": ["air"]}},
    {"code": "d", "roles": ["assist"]},
]


def tried(results=None, **changes):
    """An attempt on an edition whose steps c and d do not apply to it."""
    results = {"a": "independent", "b": {"result": "independent", "value": 10}} | (results or {})
    return data(shown("2025-01-10", results=results, **changes), skills=[skill("s", edition(steps=STEPS))])


TABLE = [
    # Unknown codes
    ("B: an unknown skill of an attempt", f"{AT}.skill", '"z" is no skill of the programme', data(shown("2025-01-10", code="z"))),
    ("B: an unknown skill of a hold", f"{AT}.skill", '"z" is no skill of the programme', data(other("hold", "2025-01-10", skill="z"))),
    ("B: an unknown skill of a qualification", "qualifications[0].skill", '"z" is no skill of the programme', data(qualifications=[{"id": "q", "observer": "rn1", "skill": "z", "from": FIRST} | STAMP])),
    ("B: an unknown skill of an authorisation", "authorisations[0].skill", '"z" is no skill of the programme', data(authorisations=[{"id": "a", "skill": "z", "from": FIRST} | STAMP])),
    ("B: an unknown prerequisite", f"{EDITION}.requires[0].skill", '"z" is no skill here', one(requires=[{"skill": "z"}])),
    ("B: sets naming unknown skills", "programme.rules[0].sets.full[1]", '"z" is no skill here', data(programme=ruled(sets={"full": ["s", "z"]}))),
    ("B: an unknown set of a team", "programme.rules[0].team[0].people[0].set", '"z" is no set of these rules', data(programme=ruled(team=[{"name": "t", "people": [{"set": "z", "count": 1}]}]))),
    ("B: an unknown set of a caregiver", "caregivers[0].sets[0]", '"z" is no set of the programme', data(caregivers=people("ana", sets=["z"]), programme=ruled())),
    ("B: an unknown item", "items[0].item", '"z" is no item of the programme', data(items=[{"id": "i", "item": "z", "on": FIRST} | STAMP], programme=ruled())),
    ("B: an exception from nothing known", "exceptions[0].missing", '"item:z" is nothing that can be missing here', data(exceptions=[{"id": "x", "missing": "item:z", "from": FIRST, "through": FIRST, "by": "s", "reason": "r"} | STAMP])),
    ("B: an exception from a fact without a name", "exceptions[0].missing", '"fact:" is nothing that can be missing here', data(exceptions=[{"id": "x", "missing": "fact:", "from": FIRST, "through": FIRST, "by": "s", "reason": "r"} | STAMP])),
    # Duplicates
    ("B: a record's id twice", "caregivers[0].records[1].id", '"d-s-2025-01-10-10:00" is there already', data(ATTEMPT, shown("2025-01-11", id=ATTEMPT["id"]))),
    ("B: an id of another list", f"{AT}.id", '"p-2025-01-01" is there already', data(shown("2025-01-10", id="p-2025-01-01"))),
    ("B: a void with a record's id", "caregivers[0].records[0].id", '"d-s-2025-01-10-10:00" is there already', data(ATTEMPT, voids=[void("p-2025-01-01", ATTEMPT["id"])])),
    ("B: a caregiver twice", "caregivers[1].id", '"ana" is there already', data(caregivers=people("ana", "ana"))),
    ("B: a skill twice", "programme.skills[1].code", '"s" is there already', data(skills=[skill(), skill()])),
    ("B: an edition twice", "programme.skills[0].editions[1].edition", "1 is there already", two(edition=1)),
    ("B: a step twice", f"{EDITION}.steps[1].code", '"a" is there already', one(steps=[{"code": "a"}, {"code": "a"}])),
    ("B: a prerequisite twice", "programme.skills[1].editions[0].requires[1].skill", '"s" is there already', data(skills=[skill(), skill("t", edition(requires=[{"skill": "s"}, {"skill": "s"}]))])),
    ("B: an item twice", "programme.rules[0].items[1].code", '"kit" is there already', data(programme=ruled(items=[{"code": "kit"}, {"code": "kit"}]))),
    ("B: a skill twice in a set", "programme.rules[0].sets.full", "names a skill twice", data(programme=ruled(sets={"full": ["s", "s"]}))),
    ("4.7 two rules that begin at once", "programme.rules[1].in_force_from", "other rules begin and were recorded then", data(programme=ruled() | {"rules": ruled()["rules"] * 2})),
    ("5: two care plan entries in force on one day", "care_plan[1].on", '"p-2025-01-01" is in force from 2025-01-01 too; void it first', data(care_plan=[plan(), plan(id="again")])),
    ("5: one of two was voided, but too late", "care_plan[1].on", '"p-2025-01-01" is in force from 2025-01-01 too; void it first', data(care_plan=[plan(), plan(id="again")], voids=[void("again")])),
    ("two patients", "caregivers", "more than one is the patient", data(caregivers=people("ana", "ben", is_patient=True))),
    # Results
    ("B: a result for a step that does not exist", f"{AT}.results.z", "is no step of edition 1", tried({"z": "independent"})),
    ("B: a result for a step the care plan does not call for", f"{AT}.results.c", "does not apply to this attempt", tried({"c": "independent"})),
    ("B: a result for a step of another role", f"{AT}.results.d", "does not apply to this attempt", tried({"d": "independent"})),
    ("B: a missing result", f"{AT}.results.a", "is missing", data(shown("2025-01-10", results={}))),
    ("B: a missing result of the second observer", f"{AT}.second.results.a", "is missing", data(shown("2025-01-10", second={"observer": "rn2", "results": {}}))),
    ("5: independent without a value", f"{AT}.results.b", "needs a number: it is measured", tried({"b": "independent"})),
    ("a value where nothing is measured", f"{AT}.results.a.value", "this step is not measured", tried({"a": {"result": "independent", "value": 1}})),
    ("4.1: a critical step is not skipped", f"{AT}.results.a", "may not be skipped", tried({"a": "not_applicable"})),
    ("a value of a step that was not seen", f"{AT}.results.b.value", "a step that was not seen or does not apply has no value", tried({"b": {"result": "not_seen", "value": 1}})),
    # Attempts
    ("B: an edition that does not exist", f"{AT}.edition", '"s" has no edition 2', data(shown("2025-01-10", edition=2))),
    ("B: an edition not in force", f"{AT}.on", "is before the first day of edition 2, 2025-02-01", two() | {"caregivers": people("ana", records=[shown("2025-01-31", edition=2)])}),
    ("B: an edition not yet published", f"{AT}.edition", "edition 2 had not been published when this was recorded", two() | {"caregivers": people("ana", records=[shown("2025-02-01", edition=2, recorded_at="2025-01-15T08:59:59Z")])}),
    ("5: before the care plan's first day", f"{AT}.on", "is before the care plan's first day, 2025-01-05", data(shown("2025-01-04"), care_plan=[plan("2025-01-05", recorded_at=EARLY)])),
    ("5: by what was known when it was recorded", f"{AT}.on", "is before the care plan's first day, 2025-01-05", data(shown("2025-01-04"), care_plan=[plan("2025-01-05", recorded_at=EARLY), plan("2025-01-02", id="late", recorded_at="2025-01-06T08:00:00Z")])),
    ("5: no care plan at all", f"{AT}.on", "there was no care plan when this was recorded", data(shown("2025-01-04"), care_plan=[])),
    ("4.2: it began before the care plan", f"{AT}.began", "is before the care plan's first day, 2025-01-01", data(shown("2025-01-10", began="2024-12-31"))),
    ("4.3: it began on its own day", f"{AT}.began", "is not before on", data(shown("2025-01-10", began="2025-01-10"))),
    ("5: an observer who is the caregiver", f"{AT}.observers[1]", "is the caregiver, who cannot observe themself", data(shown("2025-01-10", observers=["rn1", "ana"]))),
    ("5: a second observer who is the caregiver", f"{AT}.second.observer", "is the caregiver, who cannot observe themself", data(shown("2025-01-10", second={"observer": "ana", "results": {"a": "independent"}}))),
    ("a second observer who is the lead", f"{AT}.second.observer", "is the lead observer", data(shown("2025-01-10", second={"observer": "rn1", "results": {"a": "independent"}}))),
    ("one observer twice", f"{AT}.observers[1]", "is not the id of an observer, or is there already", data(shown("2025-01-10", observers=["rn1", "rn1"]))),
    ("no observer", f"{AT}.observers", "is empty", data(shown("2025-01-10", observers=[]))),
    ("5: a demonstration on a certificate skill", f"{AT}.skill", '"card" is certified, not shown', data(shown("2025-01-10", code="card"), skills=[CARD])),
    ("a certificate for a skill that is shown", f"{AT}.skill", '"s" is shown, not certified', data(other("certificate", "2025-01-10"))),
    ("a resolution of nothing", f"{AT}.record", '"z" is no demonstration of this caregiver', data(word("resolution", "z", take="lead"))),
    ("a resolution where one observer watched", "caregivers[0].records[1].record", '"d-s-2025-01-10-10:00" had no second observer', data(ATTEMPT, word("resolution", ATTEMPT["id"], take="lead"))),
    ("an override of nothing", f"{AT}.record", '"z" is no demonstration of this caregiver', data(word("override", "z", reason="r"))),
    ("an override of a signature", "caregivers[0].records[1].record", '"sig" is no demonstration of this caregiver', data(other("signature", "2025-01-10", by="educator", id="sig"), word("override", "sig", reason="r"))),
    ("an override of another caregiver's attempt", "caregivers[1].records[0].record", '"d-s-2025-01-10-10:00" is no demonstration of this caregiver', data(ATTEMPT) | {"caregivers": [*people("ana", records=[ATTEMPT]), *people("ben", records=[word("override", ATTEMPT["id"], reason="r")])]}),
    # Dates out of range
    ("B: a certificate that ends before it begins", f"{AT}.through", "is before on", data(other("certificate", "2025-01-10", skill="card", through="2025-01-09"), skills=[CARD])),
    ("B: a sign-off taken over after its last day", f"{AT}.last_day", "is before on", data(other("accepted", "2025-01-10", last_day="2025-01-09", organisation="o"))),
    ("B: a hold that ends before it begins", f"{AT}.through", "is before on", data(other("hold", "2025-01-10", through="2025-01-09"))),
    ("B: an authorisation that ends before it begins", "authorisations[0].through", "is before from", data(authorisations=[{"id": "a", "skill": "s", "from": "2025-01-02", "through": FIRST} | STAMP])),
    ("B: a qualification that ends before it begins", "qualifications[0].through", "is before from", data(qualifications=[{"id": "q", "observer": "o", "from": "2025-01-02", "through": FIRST} | STAMP])),
    ("B: an exception that ends before it begins", "exceptions[0].through", "is before from", data(exceptions=[{"id": "x", "missing": "team", "from": "2025-01-02", "through": FIRST, "by": "s", "reason": "r"} | STAMP])),
    ("4.7: an exception has a last day", "exceptions[0].through", "is missing: an exception has a last day", data(exceptions=[{"id": "x", "missing": "team", "from": FIRST, "through": None, "by": "s", "reason": "r"} | STAMP])),
    ("B: a caregiver who leaves before they come", "caregivers[0].through", "is before from", data(caregivers=people("ana", **{"from": "2025-01-02", "through": FIRST}))),
    ("B: a day of no calendar", "on", 'is "2025-02-29", not a date such as 2025-02-03', data(on="2025-02-29")),
    ("B: a day before 1900", "caregivers[0].born", 'is "1899-12-31", not a date such as 2025-02-03', data(caregivers=people("ana", born="1899-12-31"))),
    ("B: an instant without its offset", "known_at", 'is "2025-01-01T08:00:00", not an instant with an offset such as 2025-02-03T10:20:00Z', data(known_at="2025-01-01T08:00:00")),
    ("4.5: an edition published too late", f"{EDITION}.in_force_from", "is not after the day the edition was recorded", one(recorded_at="2025-01-01T12:00:00Z")),
    ("an edition that begins before the one before", "programme.skills[0].editions[1].in_force_from", "is not after that of edition 1", two(in_force_from=FIRST, recorded_at=EARLY)),
    ("a recheck by a day before the edition", "programme.skills[0].editions[1].older_sign_offs.recheck_by", "is before the edition's first day", two(older_sign_offs={"recheck_by": "2025-01-31"})),
    ("4.5: an edition that is silent on older sign-offs", "programme.skills[0].editions[1].older_sign_offs", "is missing", two(older_sign_offs=None)),
    # Counts, windows, limits
    ("B: a negative count", f"{EDITION}.standard.needs[0].passes", "is -1, not a whole number from 1 to 1000", needing(passes=-1)),
    ("B: a count of none", f"{EDITION}.standard.needs[0].passes", "is 0, not a whole number from 1 to 1000", needing(passes=0)),
    ("B: a negative count of people", "programme.rules[0].team[0].people[0].count", "is -1, not a whole number from 1 to 100", data(programme=ruled(team=[{"name": "t", "people": [{"set": "full", "count": -1}]}]))),
    ("B: a window of zero", f"{EDITION}.standard.needs[0].within", 'is "P0D", not a period above zero such as P30D, P3M or P1Y', needing(passes=2, within="P0D")),
    ("B: a window of zero before a gate", "programme.skills[1].editions[0].requires[0].within", 'is "P0M", not a period above zero such as P30D, P3M or P1Y', data(skills=[skill(), skill("t", edition(requires=[{"skill": "s", "within": "P0M"}]))])),
    ("B: a validity of zero", f"{EDITION}.standard.valid_for", 'is "P0Y", not a period above zero such as P30D, P3M or P1Y', one(standard=standard(valid_for="P0Y"))),
    ("a validity of more than 200 years", f"{EDITION}.standard.valid_for", 'is "P201Y", not a period above zero such as P30D, P3M or P1Y', one(standard=standard(valid_for="P201Y"))),
    ("an item that is valid for nothing", "programme.rules[0].items[0].valid_for", 'is "P0D", not a period above zero such as P30D, P3M or P1Y', data(programme=ruled(items=[{"code": "kit", "valid_for": "P0D"}]))),
    ("limits the wrong way round", f"{EDITION}.steps[0].measure.low", "is above high", one(steps=[{"code": "a", "measure": {"unit": "s", "low": 2, "high": 1}}])),
    ("4.1: a critical step may not be skipped", f"{EDITION}.steps[0].may_skip", "a critical step may not be skipped", one(steps=[{"code": "a", "critical": True, "may_skip": True}])),
    ("5: needs on a certificate skill", f"{EDITION}.standard.needs", "a certificate skill has no needs", one(standard=standard(evidence="certificate"), steps=[])),
    ("5: steps on a certificate skill", f"{EDITION}.steps", "a certificate skill has no steps", one(standard={"evidence": "certificate"})),
    ("a skill that changes its kind of evidence", "programme.skills[0].editions[1].standard.evidence", "differs from that of edition 1", two(standard={"evidence": "certificate"}, steps=[])),
    ("two words on one edition's evidence", f"{EDITION}.standard.evidence", "differs from the edition's own", one(evidence="certificate", standard={"evidence": "demonstration", "needs": {}}, steps=[])),
    # Voids
    ("B: a void of nothing", "voids[0].record", '"z" is no record here', data(voids=[void("z")])),
    ("4.5: a void of a void", "voids[1].record", '"v1" is a void, which cannot be voided', data(ATTEMPT, voids=[void(ATTEMPT["id"]), void("v1", "v2")])),
    ("a void of a caregiver", "voids[0].record", '"ana" is no record here', data(voids=[void("ana")])),
    # Circles
    ("B: a skill that needs itself", "programme.skills[0].editions", "the prerequisites in force on 2025-01-01 go in a circle: s needs s", one(requires=[{"skill": "s"}])),
    # Keys
    ("5: an unknown key", "colour", "is not a key that is known here", data(colour="red")),
    ("5: an unknown key of a record", f"{AT}.colour", "is not a key that is known here", data(ATTEMPT | {"colour": "red"})),
    ("5: a key of another kind of record", f"{AT}.by", "is not a key that is known here", data(ATTEMPT | {"by": "educator"})),
    ("an unknown kind of record", f"{AT}.kind", 'is "wish", not one of demonstration, certificate, accepted, signature, hold, recheck, withdrawal, resolution, override', data(ATTEMPT | {"kind": "wish"})),
]  # fmt: skip


@pytest.mark.parametrize(("why", "path", "message", "case"), TABLE, ids=[row[0] for row in TABLE])
def test_a_contradiction_is_refused_with_its_path(why, path, message, case):
    assert problems(case) == [(path, message)], why


@pytest.mark.parametrize(
    "case",
    [
        data(ATTEMPT, voids=[void(ATTEMPT["id"]), void(ATTEMPT["id"], "v2")]),
        data(care_plan=[plan(), plan(id="again", recorded_at="2025-01-21T08:00:00Z")], voids=[void("p-2025-01-01")]),
        one(recorded_at="2025-01-01T11:59:59Z"),
        data(shown("2025-01-10", began="2025-01-09")),
        one(standard=standard(valid_for="P200Y", grace="P0D")),
        data(care_plan=[plan(), plan(id="again", recorded_at="2025-01-20T08:00:00Z")], voids=[void("p-2025-01-01")]),
        data(shown("2025-01-02", began=FIRST)),
        two()
        | {"caregivers": people("ana", records=[shown("2025-02-01", edition=2, recorded_at="2025-01-15T09:00:00Z")])},
    ],
    ids=[
        "voided twice",
        "voided first",
        "still the day before somewhere",
        "over two days",
        "200 years, no grace",
        "voided at that instant",
        "began with the care plan",
        "published at that instant",
    ],
)
def test_its_neighbour_is_taken(case):
    assert read_case(case).on.isoformat() == "2025-03-01"


def test_every_result_that_is_wrong_is_named():
    case = tried({"z": "independent", "c": "independent", "y": "omitted", "b": "independent"})

    assert paths(case) == [f"{AT}.results.{code}" for code in ("b", "z", "c", "y")]


def test_every_record_of_an_unknown_kind_is_named():
    wishes = [shown("2025-01-10", id=id_) | {"kind": "wish"} for id_ in "xy"]

    assert paths(data(*wishes)) == [f"caregivers[0].records[{n}].kind" for n in (0, 1)]


def test_every_result_that_cannot_be_read_is_named():
    case = tried({code: {"result": "fine"} for code in ("a", "b")})

    assert paths(case) == [f"{AT}.results.{code}.result" for code in ("a", "b")]


def test_every_day_with_two_care_plan_entries_is_named():
    twice = [plan(), plan(id="x"), plan("2025-01-02"), plan("2025-01-02", id="y")]

    assert paths(data(care_plan=twice)) == ["care_plan[1].on", "care_plan[3].on"]


def test_what_can_be_read_hides_nothing_after_it():
    records = [
        ATTEMPT,
        word("override", ATTEMPT["id"], reason="r"),
        other("hold", "2025-01-10", skill=None, through=None),
        shown("2025-01-10", code="card", id="c"),
        other("recheck", "2025-01-10", skill="z", reason="r"),
    ]

    assert paths(data(*records, skills=[skill(), CARD])) == [f"caregivers[0].records[{n}].skill" for n in (3, 4)]


@pytest.mark.parametrize(
    ("case", "found"),
    [
        (data(skills=[skill("s", edition(recorded_at=1)), skill("t", edition(recorded_at=1))]), [f"programme.skills[{n}].editions[0].recorded_at" for n in (0, 1)]),
        (one(applies_when={"a": 1, "b": 2}), [f"{EDITION}.applies_when.{name}" for name in "ab"]),
        (one(steps=[{"code": 1}, {"code": 2}]), [f"{EDITION}.steps[{n}].code" for n in (0, 1)]),
        (one(requires=[{"skill": 1}, {"skill": 2}]), [f"{EDITION}.requires[{n}].skill" for n in (0, 1)]),
        (one(standard=standard(needs=[{"passes": 0}, {"days": 0}])), [f"{EDITION}.standard.needs[0].passes", f"{EDITION}.standard.needs[1].days"]),
    ],
    ids=["skills", "conditions", "steps", "prerequisites", "needs"],
)  # fmt: skip
def test_one_that_cannot_be_read_hides_no_other(case, found):
    assert paths(case) == found


# All at once ----------------------------------------------------------------------------------------------


def riddled():
    """One case that can be read and contradicts itself wherever a readable case can; path: what is wrong there."""
    made = data(
        shown("2025-01-10", code="z", id="d0"),
        shown("2025-01-10", id="d0"),
        shown("2025-01-10", edition=9, id="d2"),
        shown("2024-12-31", id="d3"),
        shown("2025-01-10", observers=["rn1", "ana"], id="d4"),
        shown("2025-01-10", second={"observer": "ana", "results": {"z": "independent"}}, id="d5"),
        shown("2025-01-10", results={"a": "not_applicable"}, id="d6"),
        shown("2025-01-10", results={"a": {"result": "independent", "value": 1}}, id="d7"),
        shown("2025-01-10", code="card", id="d8"),
        other("certificate", "2025-01-10", id="c9"),
        word("resolution", "d4", take="lead", id="r10"),
        word("override", "d99", reason="r", id="o11"),
        programme=ruled() | {"skills": [skill(), CARD]},
        qualifications=[{"id": "q0", "observer": "rn1", "skill": "z", "from": FIRST} | STAMP],
        care_plan=[plan(), plan(id="again")],
        authorisations=[{"id": "a0", "skill": "z", "from": FIRST} | STAMP],
        items=[{"id": "i0", "item": "z", "on": FIRST} | STAMP],
        exceptions=[{"id": "x0", "missing": "z", "from": FIRST, "through": FIRST, "by": "s", "reason": "r"} | STAMP],
        voids=[void("z"), void("v1", "v2")],
    )
    made["caregivers"][0] |= {"sets": ["z"], "is_patient": True}
    made["caregivers"] += people("ana", is_patient=True)
    return made


ALL = [
    "caregivers[0].records[1].id",
    "caregivers[1].id",
    "voids[0].record",
    "voids[1].record",
    "care_plan[1].on",
    "qualifications[0].skill",
    "authorisations[0].skill",
    "items[0].item",
    "exceptions[0].missing",
    "caregivers[0].sets[0]",
    "caregivers[0].records[0].skill",
    "caregivers[0].records[2].edition",
    "caregivers[0].records[3].on",
    "caregivers[0].records[3].on",
    "caregivers[0].records[4].observers[1]",
    "caregivers[0].records[5].second.observer",
    "caregivers[0].records[5].second.results.z",
    "caregivers[0].records[5].second.results.a",
    "caregivers[0].records[6].results.a",
    "caregivers[0].records[7].results.a.value",
    "caregivers[0].records[8].skill",
    "caregivers[0].records[9].skill",
    "caregivers[0].records[10].record",
    "caregivers[0].records[11].record",
    "caregivers",
]


def test_every_contradiction_is_named_at_once():
    assert paths(riddled()) == ALL


UNREADABLE = {
    "programme.code": ("programme", "code"),
    "programme.skills[0].editions[0].in_force_from": ("programme", "skills", 0, "editions", 0, "in_force_from"),
    "programme.skills[0].editions[0].steps[0].critical": ("programme", "skills", 0, "editions", 0, "steps", 0, "critical"),
    "programme.rules[0].team": ("programme", "rules", 0, "team"),
    "qualifications[0].from": ("qualifications", 0, "from"),
    "care_plan[0].facts": ("care_plan", 0, "facts"),
    "caregivers[0].born": ("caregivers", 0, "born"),
    "caregivers[0].records[0].time": ("caregivers", 0, "records", 0, "time"),
    "caregivers[0].records[0].results.a": ("caregivers", 0, "records", 0, "results", "a"),
    "on": ("on",),
    "known_at": ("known_at",),
}  # fmt: skip


def test_everything_that_cannot_be_read_is_named_at_once():
    case = json.loads(json.dumps(data(shown("2025-01-10"), programme=ruled())))
    for at in UNREADABLE.values():
        inner = case
        for part in at[:-1]:
            inner = inner[part]
        inner[at[-1]] = 9.5

    # a result that is no object lacks its word too
    assert sorted(paths(case)) == sorted([*UNREADABLE, f"{AT}.results.a.result"])


# Circles --------------------------------------------------------------------------------------------------


def chain(*codes):
    """Each skill needs the next, and the last the first."""
    following = zip(codes, [*codes[1:], codes[0]], strict=True)
    return [skill(code, edition(requires=[{"skill": after}])) for code, after in following]


@pytest.mark.parametrize(
    ("skills", "circle"),
    [
        (chain("s"), "s needs s"),
        (chain("s", "t"), "s needs t needs s"),
        (chain("suction", "ties", "tube", "rescue"), "suction needs ties needs tube needs rescue needs suction"),
        ([skill("x", edition(requires=[{"skill": "s"}])), *chain("s", "t")], "s needs t needs s"),
    ],
)
def test_a_circle_is_named_in_full(skills, circle):
    with pytest.raises(RefusedError, match=f"go in a circle: {circle}$"):
        read_case(data(skills=skills))


def test_a_circle_that_a_later_edition_closes_is_named_with_its_day():
    later = edition(2, in_force_from="2025-02-01", requires=[{"skill": "t"}])
    skills = [skill("s", edition(), later), skill("t", edition(requires=[{"skill": "s"}]))]

    with pytest.raises(RefusedError, match="in force on 2025-02-01 go in a circle: s needs t needs s"):
        read_case(data(skills=skills))


def test_prerequisites_that_change_hands_between_editions_are_no_circle():
    s = skill("s", edition(requires=[{"skill": "t"}]), edition(2, in_force_from="2025-02-01"))
    t = skill("t", edition(), edition(2, in_force_from="2025-02-01", requires=[{"skill": "s"}]))

    assert read_case(data(skills=[s, t])).programme.code == "p"


# No JSON --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("what", "text"),
    [
        ("a key given twice", '{"on": "2025-01-01", "on": "2025-01-02"}'),
        ("no number", '{"on": NaN}'),
        ("no number", '{"on": -Infinity}'),
        ("nested too deeply", "[" * 100_000),
        ("no text", b"\xff\xfe\xff"),
        ("cut short", '{"on": "2025'),
        ("nothing", ""),
    ],
)
def test_what_is_no_json_is_refused(what, text):
    with pytest.raises(RefusedError) as refusal:
        parse(text)

    assert [p.path for p in refusal.value.problems] == ["$"], what


def test_a_number_too_large_is_refused_where_it_stands():
    """1e999 is JSON, and infinite once read."""
    text = json.dumps(data(care_plan=[plan(facts={"tube_id_mm": 0})])).replace('"tube_id_mm": 0', '"tube_id_mm": 1e999')

    assert paths(parse(text)) == ["care_plan[0].facts.tube_id_mm"]


def test_finding_a_whole_number_too_large_is_refused_where_it_stands():
    assert paths(data(care_plan=[plan(facts={"tube_id_mm": 10**400})])) == ["care_plan[0].facts.tube_id_mm"]


def test_finding_an_edition_recorded_at_the_beginning_of_time_is_read():
    assert read_case(one(recorded_at="0001-01-01T00:00:00Z")).programme.code == "p"


# Size -----------------------------------------------------------------------------------------------------

# The peak of a fresh process that answers the case on standard input, in kB; VmHWM starts anew with each process.
ANSWER = """
import re, sys
from competency.__main__ import main
sys.stdout = open("/dev/null", "w")
status = main([])
sys.stdout = sys.__stdout__
print(status, re.search(r"VmHWM:\\s+(\\d+) kB", open("/proc/self/status").read())[1])
"""


def large_case(size):
    """A case of about this many bytes: three caregivers, fourteen skills, as many attempts as it takes."""
    steps = [{"code": f"s{n:02}", "critical": n < 3} for n in range(12)]
    skills = [
        skill(f"k{n}", edition(standard=standard(needs=[{"passes": 2, "days": 2}], valid_for="P6M"), steps=steps))
        for n in range(14)
    ]
    results = {step["code"]: "independent" for step in steps}
    rows = []
    total = 0
    while total < size:
        n = len(rows)
        day = f"20{25 + n // 9000 % 50}-{n // 750 % 12 + 1:02}-{n // 27 % 28 + 1:02}"
        rows.append(shown(day, code=f"k{n % 14}", results=results, id=f"d{n}", at=f"{8 + n % 12:02}:{n % 60:02}"))
        total += 575
    case = data(skills=skills)
    case["caregivers"] = [
        {"id": name, "sets": [], "records": rows[i::3]} for i, name in enumerate(("ana", "ben", "cleo"))
    ]
    return json.dumps(case)


def answered(text):
    """(exit status, peak in bytes) of a process that answers this text."""
    found = subprocess.run([sys.executable, "-c", ANSWER], input=text.encode(), capture_output=True, check=True)
    status, peak = found.stdout.split()
    return int(status), int(peak) * 1024


@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is read from Linux's /proc")
def test_five_megabytes_are_answered_within_twenty_times_their_size():
    text = large_case(5_000_000)
    status, peak = answered(text)

    assert status == 0
    assert peak < 20 * len(text)


@pytest.mark.long
@pytest.mark.skipif(not Path("/proc/self/status").exists(), reason="the peak is read from Linux's /proc")
def test_fifty_megabytes_are_answered_within_twenty_times_their_size():
    """Issue B, bad input: a 50 MB case."""
    text = large_case(52_500_000)
    status, peak = answered(text)

    assert (status, len(text) > 50_000_000) == (0, True)
    assert peak < 20 * len(text), f"{peak / len(text):.1f} times"
