"""Builds small cases for the tables: one skill or two, one caregiver, dates as texts."""

from __future__ import annotations

from datetime import date
from typing import Any

from competency.history import FamilyHistory
from competency.reading import read_case
from competency.records import Case

Json = dict[str, Any]
EARLY = "2024-12-01T09:00:00Z"
FIRST = "2025-01-01"
FACTS = {"suction": True, "cuff": "none", "tube_id_mm": 5.0}


def edition(number: int = 1, **changes: Any) -> Json:
    """An edition of one critical step; its standard asks for one pass unless changed."""
    made: Json = {
        "edition": number,
        "in_force_from": FIRST,
        "recorded_at": EARLY,
        "older_sign_offs": "stand",
        "standard": {"needs": [{"passes": 1}]},
        "steps": [{"code": "a", "critical": True}],
    }
    return made | changes


def standard(**changes: Any) -> Json:
    return {"needs": [{"passes": 1}], **changes}


def skill(code: str = "s", *editions: Json) -> Json:
    return {"code": code, "editions": list(editions) or [edition()]}


def one(**std: Any) -> list[Json]:
    """One skill ``s`` whose first edition has this standard."""
    return [skill("s", edition(standard=standard(**std)))]


def shown(day: str, *, at: str = "10:00", code: str = "s", results: Any = None, **changes: Any) -> Json:
    """A demonstration; recorded at noon of its day, in UTC."""
    made: Json = {
        "kind": "demonstration",
        "id": f"d-{code}-{day}-{at}",
        "purpose": "assessment",
        "on": day,
        "time": at,
        "skill": code,
        "edition": 1,
        "setting": "patient",
        "role": "lead",
        "mode": "in_person",
        "place": "hospital",
        "observers": ["rn1"],
        "results": {"a": "independent"} if results is None else results,
        "recorded_at": f"{day}T12:00:00Z",
    }
    return made | changes


def failed(day: str, **changes: Any) -> Json:
    """The critical step needed a word."""
    return shown(day, results={"a": "prompted"}, **changes)


def other(kind: str, on: str, **fields: Any) -> Json:
    fields.setdefault("id", f"{kind}-{on}-{fields.get('skill')}")
    return {"kind": kind, "on": on, "recorded_at": f"{on}T08:00:00Z", "skill": "s", **fields}


def plan(day: str = FIRST, facts: Json | None = None, **changes: Any) -> Json:
    made = {"id": f"p-{day}", "on": day, "facts": FACTS if facts is None else facts, "recorded_at": f"{day}T07:00:00Z"}
    return made | changes


def data(*records: Json, skills: list[Json] | None = None, **changes: Any) -> Json:
    """A case with one caregiver, ana, and one qualified observer, rn1."""
    made: Json = {
        "programme": {"code": "p", "skills": skills or [skill()], "rules": []},
        "qualifications": [
            {"id": "q1", "observer": who, "skill": None, "from": "2024-01-01", "through": None, "recorded_at": EARLY}
            | {"id": f"q-{who}"}
            for who in ("rn1", "rn2")
        ],
        "care_plan": [plan()],
        "caregivers": [{"id": "ana", "born": "1990-05-01", "sets": [], "records": list(records)}],
        "on": "2025-03-01",
    }
    return made | changes


def case(*records: Json, **changes: Any) -> Case:
    return read_case(data(*records, **changes))


def history(*records: Json, **changes: Any) -> FamilyHistory:
    return FamilyHistory(case(*records, **changes))


def standing(found: FamilyHistory, day: str, code: str = "s") -> str | None:
    on = found.line("ana", code).on(date.fromisoformat(day))
    return None if on is None else on.value


def spans(found: FamilyHistory, code: str = "s") -> list[tuple[str, str, str | None]]:
    return [
        (s.value.value, s.start.isoformat(), s.through.isoformat() if s.through else None)
        for s in found.line("ana", code)
    ]
