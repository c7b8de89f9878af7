"""What is wrong with the words of a programme file: all that is no rule, and what conditions name."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from decimal import Decimal
from itertools import pairwise
from typing import Any

from competency.fields import Problem
from training.curriculum.checks import problems_of

TOP = frozenset({"code", "title", "language", "sample", "notice", "facts", "checks", "skills", "rules"})
FACT = frozenset({"code", "title", "plain", "kind", "choices", "unit", "low", "high", "retired", "device"})
SKILL = frozenset({"code", "title", "plain", "group", "why", "cautions", "editions"})
EDITION_WORDS = frozenset({"standard_source", "change_note"})
STEP_WORDS = frozenset({"text", "plain", "why", "watch", "source"})
SET = frozenset({"title", "plain", "skills"})
ITEM_WORDS = frozenset({"title", "plain", "source", "caregiver_may_check", "sizes", "hours"})
MOST_HOURS = 1000  # of trying something before it counts
PARTS = ("facts", "skills", "rules")
KINDS = frozenset({"choice", "number", "yes_no"})
CODE = re.compile(r"[a-z0-9][a-z0-9_.-]{0,59}", re.ASCII | re.IGNORECASE)  # as in addresses, and in the columns
LONGEST_TITLE = 120

Facts = dict[str, dict[str, Any]]  # by their codes, as the file says them


def wording(data: dict[str, Any]) -> Iterable[Problem]:
    """What is wrong with the parts that are no rules."""
    yield from _unknown(data, TOP, "")
    yield from _coded(data, "code", "")
    for key in ("title", "notice"):
        yield from _wanted(data, key, "")
    yield from _texts(data, ("language",), "")
    if not isinstance(data.get("sample", False), bool):
        yield Problem("sample", "is not true or false")
    if len(str(data.get("title"))) > LONGEST_TITLE:
        yield Problem("title", f"is longer than {LONGEST_TITLE} characters")
    read = {key: data[key] if _is_list_of_objects(data.get(key)) else [] for key in PARTS}
    yield from (Problem(key, "is not a list of objects") for key in PARTS if not _is_list_of_objects(data.get(key)))
    facts: Facts = {}
    for i, fact in enumerate(read["facts"]):
        yield from _fact(fact, f"facts[{i}]", facts)
    if "checks" in data:
        yield from problems_of(data["checks"], facts)
    for i, skill in enumerate(read["skills"]):
        yield from _skill(skill, f"skills[{i}]", facts)
    for i, rules in enumerate(read["rules"]):
        yield from _rules(rules, f"rules[{i}]", facts)


def _is_list_of_objects(value: Any) -> bool:
    return isinstance(value, list) and all(isinstance(item, dict) for item in value)


def _fact(fact: dict[str, Any], path: str, facts: Facts) -> Iterable[Problem]:
    yield from _unknown(fact, FACT, path)
    yield from _coded(fact, "code", path)
    for key in ("title", "plain"):
        yield from _wanted(fact, key, path)
    yield from _texts(fact, ("unit",), path)
    code, kind = fact.get("code"), fact.get("kind")
    if isinstance(code, str):
        if code in facts:
            yield Problem(f"{path}.code", "is there already")
        facts[code] = fact
    if not isinstance(kind, str) or kind not in KINDS:
        yield Problem(f"{path}.kind", f"is not one of {', '.join(sorted(KINDS))}")
    choices = fact.get("choices")
    if kind == "choice" and not (isinstance(choices, dict) and choices):
        yield Problem(f"{path}.choices", "is missing")
    for choice, title in choices.items() if isinstance(choices, dict) else ():
        if not isinstance(title, str):
            yield Problem(f"{path}.choices.{choice}", "is no text")
    for key in ("retired", "device"):
        if not isinstance(fact.get(key, False), bool):
            yield Problem(f"{path}.{key}", "is not true or false")
    yield from _limits(fact, path)


def _limits(fact: dict[str, Any], path: str) -> Iterable[Problem]:
    found = {key: fact[key] for key in ("low", "high") if key in fact}
    wrong = [k for k, v in found.items() if isinstance(v, bool) or not isinstance(v, int | Decimal)]
    yield from (Problem(f"{path}.{key}", "is no number") for key in wrong)
    if not wrong and len(found) == 2 and found["low"] > found["high"]:
        yield Problem(f"{path}.high", "is below low")


def _skill(skill: dict[str, Any], path: str, facts: Facts) -> Iterable[Problem]:
    yield from _unknown(skill, SKILL, path)
    yield from _coded(skill, "code", path)
    for key in ("title", "plain", "why"):
        yield from _wanted(skill, key, path)
    cautions = skill.get("cautions", [])
    if not isinstance(cautions, list) or not all(isinstance(c, str) and c.strip() for c in cautions):
        yield Problem(f"{path}.cautions", "is not a list of texts")
    if skill.get("group") not in ("routine", "emergency", "integration"):
        yield Problem(f"{path}.group", "is not routine, emergency or integration")
    editions = skill.get("editions")
    yield from _order(editions, path)
    for i, edition in enumerate(editions if isinstance(editions, list) else ()):
        if isinstance(edition, dict):
            yield from _edition(edition, f"{path}.editions[{i}]", facts)


def _order(editions: Any, path: str) -> Iterable[Problem]:
    """Editions stand in the order of their numbers: a new one is a block at the end, and paths name the same place."""
    listed = editions if isinstance(editions, list) else []
    numbers = [e.get("edition") if isinstance(e, dict) else None for e in listed]
    for i, (before, after) in enumerate(pairwise(numbers), start=1):
        if isinstance(before, int) and isinstance(after, int) and after < before:
            yield Problem(f"{path}.editions[{i}].edition", f"stands after edition {before}")


def _edition(edition: dict[str, Any], path: str, facts: Facts) -> Iterable[Problem]:
    asked = [(f"{path}.applies_when", edition.get("applies_when")), (f"{path}.on_change", edition.get("on_change"))]
    yield from _texts(edition, ("standard_source", "change_note"), path)
    steps = edition.get("steps")
    for i, step in enumerate(steps if isinstance(steps, list) else ()):
        if isinstance(step, dict):
            yield from _step(step, f"{path}.steps[{i}]")
            asked.append((f"{path}.steps[{i}].applies_when", step.get("applies_when")))
            yield from ordered(step.get("measure"), f"{path}.steps[{i}].measure", facts)
    for at, mapping in asked:
        for fact, values in mapping.items() if isinstance(mapping, dict) else ():
            if fact not in facts:
                yield Problem(f"{at}.{fact}", "is no fact of this programme")
            elif at.endswith("applies_when"):
                yield from _values(facts[fact], values, f"{at}.{fact}")


def ordered(measure: Any, path: str, facts: Mapping[str, Mapping[str, Any]]) -> Iterable[Problem]:
    """Facts that a limit is taken from: known, numbers, and in the unit of the step."""
    order = measure.get("order") if isinstance(measure, dict) else None
    for side, name in order.items() if isinstance(order, dict) else ():
        at, fact = f"{path}.order.{side}", facts.get(name) if isinstance(name, str) else None
        if fact is None:
            yield Problem(at, f"{name} is no fact of this programme")
        elif fact.get("kind") != "number":
            yield Problem(at, f"{name} is no number")
        elif fact.get("unit") != measure.get("unit"):
            yield Problem(at, f"{name} is in {fact.get('unit')}, the step in {measure.get('unit')}")


def _values(fact: dict[str, Any], values: Any, path: str) -> Iterable[Problem]:
    """A condition on a value that the fact never has would never be met, and nobody would notice."""
    choices = fact.get("choices")
    for i, value in enumerate(values if isinstance(values, list) else ()):
        if fact.get("kind") == "yes_no" and not isinstance(value, bool):
            yield Problem(f"{path}[{i}]", "is not true or false")
        elif fact.get("kind") == "number" and (isinstance(value, bool) or not isinstance(value, int | Decimal)):
            yield Problem(f"{path}[{i}]", "is no number")
        elif fact.get("kind") == "choice" and isinstance(choices, dict) and str(value) not in choices:
            yield Problem(f"{path}[{i}]", f"is not one of {', '.join(choices)}")


def _step(step: dict[str, Any], path: str) -> Iterable[Problem]:
    yield from _coded(step, "code", path)
    yield from _wanted(step, "text", path)
    yield from _texts(step, sorted(STEP_WORDS - {"text"}), path)


def _rules(rules: dict[str, Any], path: str, facts: Facts) -> Iterable[Problem]:
    yield from _texts(rules, ("change_note",), path)
    sets = rules.get("sets")
    for name, set_ in sets.items() if isinstance(sets, dict) else ():
        if not isinstance(set_, dict):
            yield Problem(f"{path}.sets.{name}", "is not an object with title and skills")
            continue
        yield from _unknown(set_, SET, f"{path}.sets.{name}")
        yield from _wanted(set_, "title", f"{path}.sets.{name}")
        yield from _texts(set_, ("plain",), f"{path}.sets.{name}")
    items = rules.get("items")
    for i, item in enumerate(items if isinstance(items, list) else ()):
        if isinstance(item, dict):
            yield from _coded(item, "code", f"{path}.items[{i}]")
            yield from _wanted(item, "title", f"{path}.items[{i}]")
            yield from _texts(item, ("plain", "source"), f"{path}.items[{i}]")
            yield from _kit(item, f"{path}.items[{i}]", facts)
    team = rules.get("team")
    for i, alternative in enumerate(team if isinstance(team, list) else ()):
        if isinstance(alternative, dict):
            yield from _texts(alternative, ("source",), f"{path}.team[{i}]")


def _kit(item: dict[str, Any], path: str, facts: Facts) -> Iterable[Problem]:
    if not isinstance(item.get("caregiver_may_check", False), bool):
        yield Problem(f"{path}.caregiver_may_check", "is not true or false")
    hours = item.get("hours", 1)
    if isinstance(hours, bool) or not isinstance(hours, int) or not 1 <= hours <= MOST_HOURS:
        yield Problem(f"{path}.hours", f"is not a whole number from 1 to {MOST_HOURS}")
    sizes = item.get("sizes", [])
    if not isinstance(sizes, list):
        yield Problem(f"{path}.sizes", "is not a list of facts")
        return
    for i, fact in enumerate(sizes):
        if not isinstance(fact, str) or fact not in facts:
            yield Problem(f"{path}.sizes[{i}]", "is no fact of this programme")


def _unknown(data: Mapping[str, Any], known: frozenset[str], path: str) -> Iterable[Problem]:
    for key in data:
        if key not in known:
            yield Problem(f"{path}.{key}" if path else str(key), "is not a key that is known here")


def _wanted(data: Mapping[str, Any], key: str, path: str) -> Iterable[Problem]:
    if not isinstance(data.get(key), str) or not data[key].strip():
        yield Problem(f"{path}.{key}" if path else key, "is missing, or no text")


def _coded(data: Mapping[str, Any], key: str, path: str) -> Iterable[Problem]:
    wanted = list(_wanted(data, key, path))
    yield from wanted
    if not wanted and not CODE.fullmatch(data[key]):
        at = f"{path}.{key}" if path else key
        yield Problem(at, 'is no code: up to 60 letters from a to z, digits, "_", "-" and "."')


def _texts(data: Mapping[str, Any], keys: Iterable[str], path: str) -> Iterable[Problem]:
    """Keys that may be left out, and are texts where they are there."""
    for key in keys:
        if key in data:
            yield from _wanted(data, key, path)
