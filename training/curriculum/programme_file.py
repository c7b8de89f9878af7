"""A programme as one YAML file: read, checked whole, and split into words and rules."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from itertools import pairwise
from typing import Any

from competency.fields import Problem, RefusedError
from competency.programme import Programme
from competency.reading import read_programme_alone
from training.curriculum.programme_text import written
from training.curriculum.programme_yaml import Read, read_yaml

TOP = frozenset({"code", "title", "language", "sample", "notice", "facts", "skills", "rules"})
FACT = frozenset({"code", "title", "plain", "kind", "choices", "unit", "low", "high"})
SKILL = frozenset({"code", "title", "plain", "group", "why", "cautions", "editions"})
EDITION_WORDS = frozenset({"standard_source", "change_note"})
STEP_WORDS = frozenset({"text", "plain", "why", "watch", "source"})
SET = frozenset({"title", "plain", "skills"})
ITEM_WORDS = frozenset({"title", "plain", "source"})
_PARTS = ("facts", "skills", "rules")
KINDS = frozenset({"choice", "number", "yes_no"})
CODE = re.compile(r"[a-z0-9][a-z0-9_.-]{0,59}", re.ASCII | re.IGNORECASE)  # as in addresses, and in the columns
LONGEST_TITLE = 120

Facts = dict[str, dict[str, Any]]  # by their codes, as the file says them


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeFile:
    """A checked file. about: what is no rule; editions and rules: as the file says them, to be published.

    read: the lines of the file, where it was read from one.
    """

    code: str
    title: str
    about: dict[str, Any]
    editions: tuple[tuple[str, dict[str, Any]], ...]
    rules: tuple[dict[str, Any], ...]
    read: Read | None = None


def read_file(text: str, *, from_day: date | None = None) -> ProgrammeFile:
    """Read and check a programme file. Raises FileRefusedError with every problem, its path and its line.

    from_day: what the file has in force on that day begins on it, and what came before is left out.
    """
    read = read_yaml(text)
    data = _checked(read)
    if from_day is not None:
        read = Read(_begun_on(data, from_day), {})
        data = _checked(read)
    return ProgrammeFile(
        code=data["code"],
        title=data["title"],
        about=_about(data),
        editions=tuple((s["code"], e) for s in data["skills"] for e in s["editions"]),
        rules=tuple(data["rules"]),
        read=read,
    )


def _checked(read: Read) -> dict[str, Any]:
    """The file's own value, once nothing is wrong with its words or its rules."""
    data = read.data
    if not isinstance(data, dict):
        raise read.refused([Problem("$", "is not a programme")])
    problems = list(_wording(data))
    if not any(p.path in _PARTS for p in problems):
        problems += _against_the_rules(data, {p.path for p in problems})
    if problems:
        raise read.refused(problems)
    return data


def _against_the_rules(data: dict[str, Any], named: set[str]) -> Iterable[Problem]:
    """What the rules say of it, but for the places where the words were wrong already."""
    try:
        read_programme_alone(rules_of(data))
    except RefusedError as refusal:
        yield from (p for p in refusal.problems if p.path not in named)


# Words ----------------------------------------------------------------------------------------------------


def _wording(data: dict[str, Any]) -> Iterable[Problem]:
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
    read = {key: data[key] if _is_list_of_objects(data.get(key)) else [] for key in _PARTS}
    yield from (Problem(key, "is not a list of objects") for key in _PARTS if not _is_list_of_objects(data.get(key)))
    facts: Facts = {}
    for i, fact in enumerate(read["facts"]):
        yield from _fact(fact, f"facts[{i}]", facts)
    for i, skill in enumerate(read["skills"]):
        yield from _skill(skill, f"skills[{i}]", facts)
    for i, rules in enumerate(read["rules"]):
        yield from _rules(rules, f"rules[{i}]")


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
    for at, mapping in asked:
        for fact, values in mapping.items() if isinstance(mapping, dict) else ():
            if fact not in facts:
                yield Problem(f"{at}.{fact}", "is no fact of this programme")
            elif at.endswith("applies_when"):
                yield from _values(facts[fact], values, f"{at}.{fact}")


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


def _rules(rules: dict[str, Any], path: str) -> Iterable[Problem]:
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
    team = rules.get("team")
    for i, alternative in enumerate(team if isinstance(team, list) else ()):
        if isinstance(alternative, dict):
            yield from _texts(alternative, ("source",), f"{path}.team[{i}]")


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


def _about(data: dict[str, Any]) -> dict[str, Any]:
    skills = [{k: v for k, v in skill.items() if k != "editions"} for skill in data["skills"]]
    return {k: data[k] for k in TOP - {"skills", "rules"} if k in data} | {"skills": skills}


# Rules ----------------------------------------------------------------------------------------------------


def rules_of_file(text: str) -> dict[str, Any]:
    """The programme part of a case, straight from a file's text. Raises RefusedError where it cannot be read."""
    return rules_of(_checked(read_yaml(text)))


def rules_of(data: dict[str, Any]) -> dict[str, Any]:
    """The programme part of a case: the file without its words. A file has no instants, so the eve stands in."""
    return plain(
        {
            "code": data.get("code"),
            "skills": [{"code": skill.get("code"), "editions": _editions(skill)} for skill in data["skills"]],
            "rules": [rules_of_rules(r) for r in data["rules"]],
        }
    )


def _editions(skill: dict[str, Any]) -> Any:
    editions = skill.get("editions")
    if not isinstance(editions, list):
        return editions
    return [rules_of_edition(e) if isinstance(e, dict) else e for e in editions]


def rules_of_edition(edition: dict[str, Any], recorded_at: str | None = None) -> dict[str, Any]:
    """One edition in a case's keys."""
    rules = {k: v for k, v in edition.items() if k not in EDITION_WORDS}
    rules["recorded_at"] = recorded_at or _eve(edition.get("in_force_from"))
    if isinstance(edition.get("steps"), list):
        rules["steps"] = [_without(step, STEP_WORDS) for step in edition["steps"]]
    return rules


def rules_of_rules(rules: dict[str, Any], recorded_at: str | None = None) -> dict[str, Any]:
    """Sets, team and items in a case's keys."""
    sets = rules.get("sets")
    made = {
        **rules,
        "recorded_at": recorded_at or _eve(rules.get("in_force_from")),
        "sets": {k: v.get("skills") if isinstance(v, dict) else v for k, v in sets.items()}
        if isinstance(sets, dict)
        else sets,
    }
    for key, words in (("team", frozenset({"source"})), ("items", ITEM_WORDS)):
        if isinstance(rules.get(key), list):
            made[key] = [_without(x, words) for x in rules[key]]
    return made


def _without(data: Any, words: frozenset[str]) -> Any:
    return {k: v for k, v in data.items() if k not in words} if isinstance(data, dict) else data


def _eve(day: Any) -> str:
    """The noon before a day, as an instant."""
    try:
        eve = date.fromisoformat(day) - timedelta(days=1)
    except (TypeError, ValueError):
        return "1900-01-01T00:00:00Z"
    return datetime.combine(eve, time(12), UTC).isoformat()


def plain(value: Any) -> Any:
    """The same values as JSON has them: a decimal becomes a number."""
    return json.loads(json.dumps(value, default=_number))


def _number(value: Any) -> int | float:
    if isinstance(value, Decimal):
        return int(value) if value == value.to_integral_value() else float(value)
    raise TypeError(f"{type(value).__name__} has no place in a programme")


def checked(programme: dict[str, Any]) -> Programme:
    """The rules package's own reading of a programme part."""
    return read_programme_alone(programme)


def begin_on(text: str, first_day: date) -> str:
    """A programme file's text with what it has in force on this day beginning on it."""
    return written(plain(_begun_on(_checked(read_yaml(text)), first_day)))


def _begun_on(data: dict[str, Any], day: date) -> dict[str, Any]:
    """What is in force on the day begins on it; what is to follow later stays."""
    skills = [{**skill, "editions": _from(skill["editions"], day)} for skill in data["skills"]]
    return {**data, "skills": skills, "rules": _from(data["rules"], day)}


def _from(dated: list[dict[str, Any]], day: date) -> list[dict[str, Any]]:
    begun = day.isoformat()
    ordered = sorted(dated, key=lambda d: d["in_force_from"])
    past = [d for d in ordered if d["in_force_from"] <= begun] or ordered[:1]
    if not past:
        return []
    later = [d for d in ordered if d["in_force_from"] > max(begun, past[-1]["in_force_from"])]
    first = {k: v for k, v in past[-1].items() if k != "older_sign_offs"}  # there are none to say anything about
    return [{**first, "in_force_from": begun}, *later]


def content_digest(body: Mapping[str, Any]) -> str:
    """What one edition says, as one number: equal exactly where every word and every figure is."""
    said = json.dumps(plain(body), sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    return hashlib.sha256(said.encode()).hexdigest()
