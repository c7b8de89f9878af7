"""Retired facts that something in a programme file still asks for, by their place in the file.

A care plan is no longer asked for a retired fact, so a condition on one would count as met, and nobody would notice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from competency.fields import Problem
from training.curriculum.programme_file import ProgrammeFile


def retired_in_use(file: ProgrammeFile, begun: date) -> Iterator[Problem]:
    """Where the editions in force on the day ``begun`` or to come, and the checks, name a fact that is retired."""
    retired = {fact["code"] for fact in file.about["facts"] if fact.get("retired")}
    for path, edition in _asking(file, begun):
        said = f"is retired, and edition {edition['edition']} is in force or to come"
        yield from (Problem(f"{path}.{at}", f"{fact} {said}") for at, fact in _named(edition) if fact in retired)
    for at, fact in _named_in_checks(file.about.get("checks") or {}):
        if fact in retired:
            yield Problem(f"checks.{at}", f"{fact} is retired, and this check reads it")


def _asking(file: ProgrammeFile, begun: date) -> Iterator[tuple[str, Mapping[str, Any]]]:
    """Of each skill the edition in force on the day and those to come, each with its path."""
    for n, skill in enumerate(file.about["skills"]):
        editions = [edition for code, edition in file.editions if code == skill["code"]]
        past = [e["in_force_from"] for e in editions if date.fromisoformat(e["in_force_from"]) <= begun]
        first = max(past, default="")
        for k, edition in enumerate(editions):
            if edition["in_force_from"] >= first:
                yield f"skills[{n}].editions[{k}]", edition


def _named(edition: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Each path in an edition that names a fact, and the fact."""
    for key in ("applies_when", "on_change"):
        yield from ((f"{key}.{fact}", fact) for fact in edition.get(key) or {})
    for i, step in enumerate(edition.get("steps") or ()):
        yield from ((f"steps[{i}].applies_when.{fact}", fact) for fact in step.get("applies_when") or {})
        order = (step.get("measure") or {}).get("order") or {}
        yield from ((f"steps[{i}].measure.order.{side}", fact) for side, fact in order.items())


def _named_in_checks(checks: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    for check in ("tube", "catheter", "spares"):
        found = checks.get(check) or {}
        yield from ((f"{check}.{name}", found[name]) for name in ("tube", "inner", "outer", "order") if name in found)
    for i, found in enumerate(checks.get("ranges") or ()):
        yield from ((f"ranges[{i}].{name}", found[name]) for name in ("order", "by") if found.get(name))
