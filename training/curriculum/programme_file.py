"""A programme as one YAML file: read, checked whole, and split into words and rules."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from competency.fields import Problem, RefusedError
from competency.programme import Programme
from competency.reading import read_programme_alone
from training.curriculum.programme_wording import EDITION_WORDS, ITEM_WORDS, PARTS, STEP_WORDS, TOP, wording
from training.curriculum.programme_yaml import Read, read_yaml


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
    problems = list(wording(data))
    if not any(p.path in PARTS for p in problems):
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


def _about(data: dict[str, Any]) -> dict[str, Any]:
    skills = [{k: v for k, v in skill.items() if k != "editions"} for skill in data["skills"]]
    about = {k: data[k] for k in TOP - {"skills", "rules"} if k in data}
    return about | {"skills": skills, "facts": [with_choice_order(fact) for fact in data["facts"]]}


def with_choice_order(fact: dict[str, Any]) -> dict[str, Any]:
    """A choice's values in the order they are written, said beside them: a record and a database sort their keys."""
    return {**fact, "choice_order": list(fact["choices"])} if "choices" in fact else fact


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
