"""Generated agencies to measure with: parsed cases of families with three caregivers and about 120 demonstrations.

The programme is the hospital sample's rules: 14 skills, some 200 steps. Records are values already; reading JSON is
not part of what is measured.
"""

from __future__ import annotations

import random
from datetime import UTC, date, datetime, time, timedelta
from functools import cache
from pathlib import Path

from competency.programme import Evidence, Programme, fact_key
from competency.reading import read_programme_alone
from competency.records import (
    Authorisation,
    Caregiver,
    CarePlanEntry,
    Case,
    Certificate,
    Demonstration,
    Hold,
    ItemDone,
    Qualification,
    Seen,
    Signature,
)
from training.curriculum.programme_file import rules_of_file

SAMPLE = Path(__file__).parents[2] / "fixtures/programmes/home-tracheostomy.yaml"
START = date(2025, 1, 6)
FACTS = {
    "age_group": "child", "tube_id_mm": 5, "cuff": "none", "inner_cannula": "reusable", "suction": True,
    "catheter_fr": 8, "suction_depth_cm": 8, "humidification": "hme", "oxygen": False, "speaking_valve": False,
    "ventilator": False,
}  # fmt: skip
ALONE = Seen("independent")


@cache
def programme() -> Programme:
    return read_programme_alone(rules_of_file(SAMPLE.read_text(encoding="utf-8")))


def instant(day: date, hour: int = 12) -> datetime:
    return datetime.combine(day, time(hour), UTC)


def agency(families: int, seed: int = 1) -> list[Case]:
    rng = random.Random(seed)
    return [family(rng, n) for n in range(families)]


def family(rng: random.Random, n: int) -> Case:
    facts = {name: fact_key(value) for name, value in FACTS.items()}
    changed = {**facts, "tube_id_mm": fact_key(5.5)}
    later = START + timedelta(days=rng.randrange(150, 300))
    return Case(
        programme=programme(),
        qualifications=tuple(
            Qualification(
                id=f"q{i}", recorded_at=instant(START), observer=f"rn{i}", skill=None, from_day=START, through=None
            )
            for i in range(4)
        ),
        care_plan=(
            CarePlanEntry(id="p1", recorded_at=instant(START), on=START, facts=facts),
            CarePlanEntry(id="p2", recorded_at=instant(later), on=later, facts=changed),
        ),
        authorisations=tuple(
            Authorisation(id=f"a-{code}", recorded_at=instant(START), skill=code, from_day=START, through=None)
            for code, skill in programme().skills.items()
            if skill.editions[0].needs_authorisation
        ),
        items=tuple(
            ItemDone(id=f"i-{code}-{k}", recorded_at=instant(START), item=code, on=START + timedelta(days=30 * k))
            for code in ("kit", "home", "papers", "equipment_trial")
            for k in range(8)
        ),
        exceptions=(),
        caregivers=tuple(caregiver(rng, f"c{n}-{i}", facts) for i in range(3)),
        voids=(),
        on=START,
    )


def caregiver(rng: random.Random, name: str, facts: dict[str, str]) -> Caregiver:
    """About 40 demonstrations over a year and a half, nine in ten of them passed, with a card, signatures and a hold."""
    skills = [s for s in programme().skills.values() if s.evidence is Evidence.DEMONSTRATION]
    records: list = []
    for k in range(40):
        skill = skills[k % len(skills)] if k < 26 else rng.choice(skills)
        day = START + timedelta(days=3 + k * 13 + rng.randrange(10))
        records.append(attempt(rng, f"{name}-{k}", skill, day, facts))
    records.append(
        Certificate(
            id=f"{name}-card",
            recorded_at=instant(START),
            on=START,
            skill="cpr_card",
            through=START + timedelta(days=700),
        )
    )
    for code in ("emergency_response", "stay_24h"):
        for by in ("caregiver", "educator"):
            day = START + timedelta(days=rng.randrange(200, 400))
            records.append(Signature(id=f"{name}-{code}-{by}", recorded_at=instant(day), on=day, skill=code, by=by))
    off = START + timedelta(days=rng.randrange(100, 500))
    records.append(
        Hold(
            id=f"{name}-hold", recorded_at=instant(off), on=off, skill=None, through=off + timedelta(days=10), reason=""
        )
    )
    return Caregiver(
        id=name,
        born=date(1990, 1, 1),
        is_patient=False,
        from_day=None,
        through=None,
        sets=("full",),
        records=tuple(records),
    )


def attempt(rng, id_, skill, day, facts) -> Demonstration:
    edition = skill.editions[0]
    setting = (
        "simulation" if skill.code == "emergency_response" else rng.choice(("patient", "patient", "patient", "model"))
    )
    results = {}
    for step in edition.steps_for("lead", facts):
        measured = step.measure
        value = None if measured is None else measured.high if measured.high is not None else measured.low
        results[step.code] = ALONE if value is None else Seen("independent", value)
    if rng.random() < 0.1:
        results[rng.choice(list(results))] = Seen("prompted")
    return Demonstration(
        id=id_, recorded_at=instant(day, 13), on=day, seconds=36_000 + rng.randrange(20_000), skill=skill.code,
        edition=edition.number, purpose="assessment", setting=setting, role="lead", mode="in_person", place="hospital",
        observers=(f"rn{rng.randrange(4)}",), results=results,
    )  # fmt: skip
