"""What a case may not say although each part of it can be read: contradictions, named by path (design 5)."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from typing import Any

from competency.fields import Problem
from competency.knowledge import PlanMemory, voided_at
from competency.programme import Edition, Evidence, as_limit
from competency.readiness import TEAM, fact_code, item_code
from competency.records import (
    Caregiver,
    CarePlanEntry,
    Case,
    Certificate,
    Demonstration,
    Override,
    Resolution,
    Result,
    Results,
)


def check_case(case: Case, data: Any) -> list[Problem]:
    """Every contradiction in a case whose parts can all be read. data: the JSON it was read from, for the paths."""
    problems = list(_ids(data))
    problems += _voids(case, data)
    problems += _care_plan(case)
    problems += _orders(case)
    problems += _names(case)
    memory = PlanMemory(case.care_plan, voided_at(case.voids))
    for i, caregiver in enumerate(case.caregivers):
        problems += _caregiver(case, caregiver, f"caregivers[{i}]", memory)
    if sum(c.is_patient for c in case.caregivers) > 1:
        problems.append(Problem("caregivers", "more than one is the patient"))
    return problems


_LISTS = ("qualifications", "care_plan", "authorisations", "items", "exceptions", "voids")


def _dated_things(data: Any) -> Iterator[tuple[str, str]]:
    for key in _LISTS:
        for i, thing in enumerate(data.get(key) or ()):
            yield f"{key}[{i}].id", thing["id"]
    for i, caregiver in enumerate(data.get("caregivers") or ()):
        for j, record in enumerate(caregiver.get("records") or ()):
            yield f"caregivers[{i}].records[{j}].id", record["id"]


def _ids(data: Any) -> Iterator[Problem]:
    seen: set[str] = set()
    for path, id_ in _dated_things(data):
        if id_ in seen:
            yield Problem(path, f'"{id_}" is there already')
        seen.add(id_)
    people: set[str] = set()
    for i, caregiver in enumerate(data.get("caregivers") or ()):
        if caregiver["id"] in people:
            yield Problem(f"caregivers[{i}].id", f'"{caregiver["id"]}" is there already')
        people.add(caregiver["id"])


def _voids(case: Case, data: Any) -> Iterator[Problem]:
    known = {id_ for _, id_ in _dated_things(data)}
    voids = {v.id for v in case.voids}
    for i, void in enumerate(case.voids):
        if void.record in voids:
            yield Problem(f"voids[{i}].record", f'"{void.record}" is a void, which cannot be voided')
        elif void.record not in known:
            yield Problem(f"voids[{i}].record", f'"{void.record}" is no record here')


def _care_plan(case: Case) -> Iterator[Problem]:
    """Two entries for one day, where there was an instant at which both were known and neither was voided."""
    voided = voided_at(case.voids)
    by_day: dict[object, list[tuple[int, CarePlanEntry]]] = defaultdict(list)
    for i, entry in enumerate(case.care_plan):
        for _, other in by_day[entry.on]:
            begin = max(entry.recorded_at, other.recorded_at)
            ends = [voided[e.id] for e in (entry, other) if e.id in voided]
            if not ends or begin < min(ends):
                yield Problem(f"care_plan[{i}].on", f'"{other.id}" is in force from {entry.on} too; void it first')
                break
        by_day[entry.on].append((i, entry))


def _orders(case: Case) -> Iterator[Problem]:
    """Facts that a limit is taken from and that state no number."""
    editions = [e for skill in case.programme.skills.values() for e in skill.editions]
    ordered = frozenset[str]().union(*(e.ordered for e in editions))
    for i, entry in enumerate(case.care_plan):
        for fact in sorted(ordered & entry.facts.keys()):
            if as_limit(entry.facts[fact]) is None:
                yield Problem(f"care_plan[{i}].facts.{fact}", "is not a number, and a step takes its limit from it")


def _names(case: Case) -> Iterator[Problem]:
    programme = case.programme
    named = [(f"qualifications[{i}]", q.skill) for i, q in enumerate(case.qualifications)]
    named += [(f"authorisations[{i}]", a.skill) for i, a in enumerate(case.authorisations)]
    for path, skill in named:
        if skill is not None and skill not in programme.skills:
            yield Problem(f"{path}.skill", f'"{skill}" is no skill of the programme')
    items = {item.code for rules in programme.rules for item in rules.items}
    for i, done in enumerate(case.items):
        if done.item not in items:
            yield Problem(f"items[{i}].item", f'"{done.item}" is no item of the programme')
    codes = {TEAM, *(item_code(code) for code in items)}
    for i, exception in enumerate(case.exceptions):
        names_a_fact = exception.missing.startswith(fact_code("")) and exception.missing != fact_code("")
        if exception.missing not in codes and not names_a_fact:
            yield Problem(f"exceptions[{i}].missing", f'"{exception.missing}" is nothing that can be missing here')
    sets = {name for rules in programme.rules for name in rules.sets}
    for i, caregiver in enumerate(case.caregivers):
        for j, name in enumerate(caregiver.sets):
            if name not in sets:
                yield Problem(f"caregivers[{i}].sets[{j}]", f'"{name}" is no set of the programme')


def _caregiver(case: Case, caregiver: Caregiver, path: str, memory: PlanMemory) -> Iterator[Problem]:
    attempts = {r.id: r for r in caregiver.records if isinstance(r, Demonstration)}
    for j, record in enumerate(caregiver.records):
        at = f"{path}.records[{j}]"
        if isinstance(record, Resolution | Override):
            attempt = attempts.get(record.record)
            if attempt is None:
                yield Problem(f"{at}.record", f'"{record.record}" is no demonstration of this caregiver')
            elif isinstance(record, Resolution) and attempt.second is None:
                yield Problem(f"{at}.record", f'"{record.record}" had no second observer')
            continue
        if record.skill is None:
            continue
        skill = case.programme.skills.get(record.skill)
        if skill is None:
            yield Problem(f"{at}.skill", f'"{record.skill}" is no skill of the programme')
        elif isinstance(record, Certificate) and skill.evidence is not Evidence.CERTIFICATE:
            yield Problem(f"{at}.skill", f'"{record.skill}" is shown, not certified')
        elif isinstance(record, Demonstration):
            if skill.evidence is Evidence.CERTIFICATE:
                yield Problem(f"{at}.skill", f'"{record.skill}" is certified, not shown')
                continue
            edition = skill.edition(record.edition)
            if edition is None:
                yield Problem(f"{at}.edition", f'"{record.skill}" has no edition {record.edition}')
            else:
                yield from check_attempt(record, edition, caregiver.id, at, memory)


def check_attempt(
    attempt: Demonstration, edition: Edition, caregiver: str, path: str, memory: PlanMemory
) -> Iterator[Problem]:
    """What is wrong with one attempt: its day, its observers, its results. path: put before each problem's own."""
    if attempt.on < edition.in_force_from:
        yield Problem(f"{path}.on", f"is before the first day of edition {edition.number}, {edition.in_force_from}")
    if attempt.recorded_at < edition.recorded_at:
        yield Problem(f"{path}.edition", f"edition {edition.number} had not been published when this was recorded")
    first = memory.first_day(attempt.recorded_at)
    if first is None:
        yield Problem(f"{path}.on", "there was no care plan when this was recorded")
        return
    if attempt.on < first:
        yield Problem(f"{path}.on", f"is before the care plan's first day, {first}")
    if attempt.began is not None and attempt.began < first:
        yield Problem(f"{path}.began", f"is before the care plan's first day, {first}")
    for i, observer in enumerate(attempt.observers):
        if observer == caregiver:
            yield Problem(f"{path}.observers[{i}]", "is the caregiver, who cannot observe themself")
    facts = memory.facts_for(attempt)
    yield from _results(attempt.results, edition, attempt.role, facts, f"{path}.results")
    if attempt.second is not None:
        if attempt.second.observer == caregiver:
            yield Problem(f"{path}.second.observer", "is the caregiver, who cannot observe themself")
        yield from _results(attempt.second.results, edition, attempt.role, facts, f"{path}.second.results")


def _results(results: Results, edition: Edition, role: str, facts: Any, path: str) -> Iterator[Problem]:
    steps = {step.code: step for step in edition.steps_for(role, facts)}
    codes = {step.code for step in edition.steps}
    for code, seen in results.items():
        at = f"{path}.{code}"
        step = steps.get(code)
        if step is None:
            why = "does not apply to this attempt" if code in codes else f"is no step of edition {edition.number}"
            yield Problem(at, why)
            continue
        if seen.result == Result.NOT_APPLICABLE and not step.may_skip:
            yield Problem(at, "may not be skipped")
        if seen.value is not None and step.measure is None:
            yield Problem(f"{at}.value", "this step is not measured")
        if seen.result == Result.INDEPENDENT and step.measure is not None and seen.value is None:
            yield Problem(at, "needs a number: it is measured")
    for code in steps:
        if code not in results:
            yield Problem(f"{path}.{code}", "is missing")
