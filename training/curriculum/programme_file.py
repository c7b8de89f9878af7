"""A programme as one YAML file: read, checked whole, and split into words and rules."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

import yaml

from competency.fields import Problem, RefusedError
from competency.programme import Programme
from competency.reading import read_programme_alone

LARGEST_FILE = 2_000_000  # bytes; the samples are under 100 kB

TOP = frozenset({"code", "title", "language", "sample", "notice", "facts", "skills", "rules"})
FACT = frozenset({"code", "title", "plain", "kind", "choices", "unit", "low", "high"})
SKILL = frozenset({"code", "title", "plain", "group", "why", "cautions", "editions"})
EDITION_WORDS = frozenset({"standard_source", "change_note"})
STEP_WORDS = frozenset({"text", "plain", "why", "watch", "source"})
SET = frozenset({"title", "plain", "skills"})
ITEM_WORDS = frozenset({"title", "plain", "source"})
KINDS = frozenset({"choice", "number", "yes_no"})


@dataclass(frozen=True, slots=True, kw_only=True)
class ProgrammeFile:
    """A checked file. about: what is no rule; editions and rules: as the file says them, to be published."""

    code: str
    title: str
    about: dict[str, Any]
    editions: tuple[tuple[str, dict[str, Any]], ...]
    rules: tuple[dict[str, Any], ...]


class _Loader(yaml.SafeLoader):
    """Safe YAML whose dates stay texts, whose numbers keep their digits, and which refuses a key given twice."""


def _mapping(loader: _Loader, node: yaml.MappingNode) -> dict[Any, Any]:
    keys = [loader.construct_object(key, deep=True) for key, _ in node.value]
    for i, key in enumerate(keys):
        if key in keys[:i]:
            raise yaml.YAMLError(f"line {node.start_mark.line + 1}: the key {key!r} is given twice")
    return {k: loader.construct_object(v, deep=True) for k, (_, v) in zip(keys, node.value, strict=True)}


_Loader.add_constructor("tag:yaml.org,2002:map", _mapping)
_Loader.add_constructor("tag:yaml.org,2002:timestamp", lambda loader, node: loader.construct_scalar(node))
_Loader.add_constructor("tag:yaml.org,2002:float", lambda loader, node: Decimal(loader.construct_scalar(node)))


def read_file(text: str) -> ProgrammeFile:
    """Read and check a programme file. Raises RefusedError with every problem and its path."""
    if len(text.encode()) > LARGEST_FILE:
        raise RefusedError([Problem("$", f"the file is larger than {LARGEST_FILE // 1_000_000} MB")])
    try:
        data = yaml.load(text, _Loader)  # noqa: S506 - a subclass of the safe loader
    except (yaml.YAMLError, ArithmeticError, RecursionError) as error:
        raise RefusedError([Problem("$", f"is no YAML: {error}")]) from error
    if not isinstance(data, dict):
        raise RefusedError([Problem("$", "is not a programme")])
    problems = list(_wording(data))
    if not problems:
        try:
            read_programme_alone(rules_of(data))
        except RefusedError as refusal:
            problems += refusal.problems
    if problems:
        raise RefusedError(problems)
    return ProgrammeFile(
        code=data["code"],
        title=data["title"],
        about=_about(data),
        editions=tuple((s["code"], e) for s in data["skills"] for e in s["editions"]),
        rules=tuple(data["rules"]),
    )


# Words ----------------------------------------------------------------------------------------------------


def _wording(data: dict[str, Any]) -> Iterable[Problem]:
    """What is wrong with the parts that are no rules."""
    yield from _unknown(data, TOP, "")
    for key in ("code", "title", "notice"):
        yield from _wanted(data, key, "")
    for key in ("facts", "skills", "rules"):
        if not isinstance(data.get(key), list) or not all(isinstance(x, dict) for x in data[key]):
            yield Problem(key, "is not a list of objects")
            return
    codes: set[Any] = set()
    for i, fact in enumerate(data["facts"]):
        yield from _fact(fact, f"facts[{i}]", codes)
    for i, skill in enumerate(data["skills"]):
        yield from _skill(skill, f"skills[{i}]", codes)
    for i, rules in enumerate(data["rules"]):
        yield from _rules(rules, f"rules[{i}]")


def _fact(fact: dict[str, Any], path: str, codes: set[Any]) -> Iterable[Problem]:
    yield from _unknown(fact, FACT, path)
    for key in ("code", "title", "plain"):
        yield from _wanted(fact, key, path)
    if fact.get("code") in codes:
        yield Problem(f"{path}.code", "is there already")
    codes.add(fact.get("code"))
    if fact.get("kind") not in KINDS:
        yield Problem(f"{path}.kind", f"is not one of {', '.join(sorted(KINDS))}")
    choices = fact.get("choices")
    if fact.get("kind") == "choice" and not (isinstance(choices, dict) and choices):
        yield Problem(f"{path}.choices", "is missing")


def _skill(skill: dict[str, Any], path: str, facts: set[Any]) -> Iterable[Problem]:
    yield from _unknown(skill, SKILL, path)
    for key in ("code", "title", "plain", "why"):
        yield from _wanted(skill, key, path)
    if skill.get("group") not in ("routine", "emergency", "integration"):
        yield Problem(f"{path}.group", "is not routine, emergency or integration")
    editions = skill.get("editions")
    for i, edition in enumerate(editions if isinstance(editions, list) else ()):
        if isinstance(edition, dict):
            yield from _edition(edition, f"{path}.editions[{i}]", facts)


def _edition(edition: dict[str, Any], path: str, facts: set[Any]) -> Iterable[Problem]:
    asked = [(f"{path}.applies_when", edition.get("applies_when")), (f"{path}.on_change", edition.get("on_change"))]
    steps = edition.get("steps")
    for i, step in enumerate(steps if isinstance(steps, list) else ()):
        if isinstance(step, dict):
            yield from _wanted(step, "text", f"{path}.steps[{i}]")
            asked.append((f"{path}.steps[{i}].applies_when", step.get("applies_when")))
    for at, mapping in asked:
        for fact in mapping if isinstance(mapping, dict) else ():
            if fact not in facts:
                yield Problem(f"{at}.{fact}", "is no fact of this programme")


def _rules(rules: dict[str, Any], path: str) -> Iterable[Problem]:
    sets = rules.get("sets")
    for name, set_ in sets.items() if isinstance(sets, dict) else ():
        if not isinstance(set_, dict):
            yield Problem(f"{path}.sets.{name}", "is not an object with title and skills")
            continue
        yield from _unknown(set_, SET, f"{path}.sets.{name}")
        yield from _wanted(set_, "title", f"{path}.sets.{name}")
    items = rules.get("items")
    for i, item in enumerate(items if isinstance(items, list) else ()):
        if isinstance(item, dict):
            yield from _wanted(item, "title", f"{path}.items[{i}]")


def _unknown(data: Mapping[str, Any], known: frozenset[str], path: str) -> Iterable[Problem]:
    for key in data:
        if key not in known:
            yield Problem(f"{path}.{key}" if path else str(key), "is not a key that is known here")


def _wanted(data: Mapping[str, Any], key: str, path: str) -> Iterable[Problem]:
    if not isinstance(data.get(key), str) or not data[key].strip():
        yield Problem(f"{path}.{key}" if path else key, "is missing, or no text")


def _about(data: dict[str, Any]) -> dict[str, Any]:
    skills = [{k: v for k, v in skill.items() if k != "editions"} for skill in data["skills"]]
    return {k: data[k] for k in TOP - {"skills", "rules"} if k in data} | {"skills": skills}


# Rules ----------------------------------------------------------------------------------------------------


def rules_of_file(text: str) -> dict[str, Any]:
    """The programme part of a case, straight from a file's text. Raises RefusedError where it cannot be read."""
    read_file(text)
    return rules_of(yaml.load(text, _Loader))  # noqa: S506 - a subclass of the safe loader


def rules_of(data: dict[str, Any]) -> dict[str, Any]:
    """The programme part of a case: the file without its words. A file has no instants, so the eve stands in."""
    return plain(
        {
            "code": data["code"],
            "skills": [
                {"code": skill["code"], "editions": [rules_of_edition(e) for e in skill.get("editions") or []]}
                for skill in data["skills"]
            ],
            "rules": [rules_of_rules(r) for r in data["rules"]],
        }
    )


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
        **_without(rules, EDITION_WORDS),
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
    """A programme file's text with every first edition and the rules in force from this day on."""
    try:
        data = yaml.load(text, _Loader)  # noqa: S506 - a subclass of the safe loader
    except yaml.YAMLError as error:
        raise RefusedError([Problem("$", f"is no YAML: {error}")]) from error
    try:
        for dated in [e for s in data["skills"] for e in s["editions"][:1]] + data["rules"][:1]:
            dated["in_force_from"] = first_day.isoformat()
    except (KeyError, TypeError):
        return text  # reading it names what is wrong
    return yaml.safe_dump(plain(data), allow_unicode=True, sort_keys=False)
