"""What is published of a programme, in the keys of a programme file."""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from training.curriculum.models import Programme


def published(programme: Programme) -> dict[str, Any]:
    """Every edition there ever was, and the rules of every first day: the last recorded ones are those that count."""
    editions: dict[str, list[dict[str, Any]]] = defaultdict(list)
    for edition in programme.editions.order_by("number"):
        editions[edition.skill].append(edition.body)
    rules = {r.in_force_from: r.body for r in programme.rule_sets.order_by("in_force_from", "recorded_at")}
    skills = [{**skill, "editions": editions[skill["code"]]} for skill in programme.about["skills"]]
    facts = [_ordered(fact) for fact in programme.about["facts"]]
    return {**programme.about, "facts": facts, "skills": skills, "rules": list(rules.values())}


def _ordered(fact: dict[str, Any]) -> dict[str, Any]:
    """Choices published before their order was kept stand by the alphabet: an export is always the same text."""
    return {**fact, "choice_order": sorted(fact["choices"]), **fact} if "choices" in fact else fact
