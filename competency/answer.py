"""The answer to a case, as JSON-ready values (design 5)."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from competency.history import FamilyHistory
from competency.programme import Alternative, Rules
from competency.readiness import TEAM, Missing
from competency.reasons import reasons
from competency.records import Caregiver, Case
from competency.standing import Line
from competency.team import fits, match, nearest


def answer(case: Case) -> dict[str, Any]:
    """Work a case out and answer its question. Dates are ISO texts, None is open or not known."""
    history = FamilyHistory(case, case.known_at)
    day = case.on
    met_by = history.readiness.team_met_by(day)
    return {
        "on": day.isoformat(),
        "known_at": None if case.known_at is None else instant_text(case.known_at),
        "caregivers": [_caregiver(history, caregiver, day) for caregiver in history.known.caregivers],
        "team": {"met": met_by is not None, "by": met_by.name if met_by else None},
        "readiness": _readiness(history, day),
    }


def instant_text(instant: datetime) -> str:
    return instant.isoformat().replace("+00:00", "Z")


def _day(day: date | None) -> str | None:
    return None if day is None else day.isoformat()


def _spans(line: Line[Any], key: str) -> list[dict[str, Any]]:
    return [{key: s.value.value, "from": _day(s.start), "through": _day(s.through)} for s in line]


def _caregiver(history: FamilyHistory, caregiver: Caregiver, day: date) -> dict[str, Any]:
    sweep = history.at_end_of(day, caregiver.id)
    skills = []
    for code in history.known.programme.skills:
        found = history.skill_on(day, sweep, code)
        span = found.span
        skills.append(
            {
                "skill": code,
                "standing": span.value.value if span else None,
                "since": _day(span.start) if span else None,
                "through": _day(span.through) if span else None,
                "last_day": _day(found.last_day),
                "may_practise": found.may_practise,
                "asked": found.asked,
                "because": [r.as_json() for r in reasons(history, day, sweep, code)],
                "spans": _spans(history.line(caregiver.id, code), "standing"),
            }
        )
    return {"id": caregiver.id, "sets": history.readiness.held_sets(caregiver, day), "skills": skills}


def _readiness(history: FamilyHistory, day: date) -> dict[str, Any]:
    readiness = history.readiness
    span = readiness.line.span(day)
    return {
        "verdict": span.value.value if span else None,
        "since": _day(span.start) if span else None,
        "through": _day(span.through) if span else None,
        "missing": [_missing(history, missing, day) for missing in readiness.missing(day)],
        "spans": _spans(readiness.line, "verdict"),
    }


def _missing(history: FamilyHistory, missing: Missing, day: date) -> dict[str, Any]:
    found: dict[str, Any] = {"code": missing.code, "excepted": missing.excepted}
    return {**found, **team_gap(history, day)} if missing.code == TEAM else found


def team_gap(history: FamilyHistory, day: date) -> dict[str, Any]:
    """The nearest alternative, how many of its places are filled, and who lacks what for it."""
    rules = history.readiness.rules(day)
    people = history.readiness.people(day)
    closest = nearest_way(history, day)
    if rules is None or closest is None:
        return {"nearest": None, "places": 0, "filled": 0, "who": []}
    places, filled = match(closest, people, day)
    counted = set(filled.values())
    who = []
    for person in people:
        if person.id in counted:
            continue
        for row in closest.people:
            lacks = _lacks(history, person.id, rules.sets[row.set], day)
            if lacks or not fits(person, row, day):
                old_enough = not (person.holds and row.set in person.holds)
                who.append({"caregiver": person.id, "set": row.set, "skills": lacks, "age": not old_enough})
    return {"nearest": closest.name, "places": places, "filled": len(filled), "who": who}


def nearest_way(history: FamilyHistory, day: date) -> Alternative | None:
    """The alternative with the fewest places left open; None where no team rule is in force."""
    rules = history.readiness.rules(day)
    return nearest(_possible(history, rules, day), history.readiness.people(day), day) if rules else None


def _possible(history: FamilyHistory, rules: Rules, day: date) -> list[Alternative]:
    """The alternatives this care plan leaves a way to: a set in which nothing is required is held by nobody."""

    def can_be_held(name: str) -> bool:
        return any(history.plan.is_required(skill, day) for skill in rules.sets[name])

    found = [a for a in rules.team if all(can_be_held(row.set) for row in a.people)]
    return found or list(rules.team)


def _lacks(history: FamilyHistory, caregiver: str, skills: tuple[str, ...], day: date) -> list[str]:
    """The skills of a set that are required and not signed off."""
    standings = history.standings[caregiver]
    return [s for s in skills if standings.on(s, day) not in (None, "not_required", "signed_off")]
