"""The words of a programme: what its skills, steps, facts, sets and items are called."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from django.utils.translation import gettext as _

from training.curriculum.models import Edition, Programme, RuleSet


@dataclass(frozen=True, slots=True)
class SkillWords:
    """How one skill is called, to staff and to a caregiver; cautions always stand with its steps."""

    code: str
    title: str
    plain: str
    group: str = ""
    why: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Words:
    """Look-ups from codes to words. An unknown code is its own word, so nothing ever prints blank."""

    title: str
    notice: str
    is_sample: bool
    facts: Mapping[str, dict[str, Any]]
    skills: Mapping[str, SkillWords]
    steps: Mapping[tuple[str, int], Mapping[str, dict[str, Any]]]
    sets: Mapping[str, dict[str, Any]] = field(default_factory=dict)
    items: Mapping[str, dict[str, Any]] = field(default_factory=dict)

    @property
    def offered(self) -> dict[str, dict[str, Any]]:
        """The facts a care plan is asked for: all that are not retired."""
        return {code: fact for code, fact in self.facts.items() if not fact.get("retired")}

    def may_be_device(self, code: str) -> bool:
        """Whether a fact may be about equipment: always, unless the programme says that it is not."""
        return bool(self.facts.get(code, {}).get("device", True))

    def skill(self, code: str) -> SkillWords:
        return self.skills.get(code) or SkillWords(code, code, code)

    def fact(self, code: str) -> str:
        return str(self.facts.get(code, {}).get("title", code))

    def plain_fact(self, code: str) -> str:
        return str(self.facts.get(code, {}).get("plain", code))

    def fact_value(self, code: str, value: Any) -> str:
        """A care plan value in words, with its unit."""
        if value is None:
            return _("not stated")
        if isinstance(value, bool):
            return _("yes") if value else _("no")
        fact = self.facts.get(code, {})
        if "choices" in fact:
            return str(fact["choices"].get(value, value))
        return f"{value} {fact['unit']}" if fact.get("unit") else str(value)

    def step(self, skill: str, edition: int, code: str) -> dict[str, Any]:
        return self.steps.get((skill, edition), {}).get(code, {"code": code, "text": code})

    def set(self, code: str) -> str:
        return str(self.sets.get(code, {}).get("title", code))

    def item(self, code: str) -> str:
        return str(self.items.get(code, {}).get("title", code))


def words_of(programme: Programme, editions: Iterable[Edition], rule_sets: Iterable[RuleSet]) -> Words:
    """Gather a programme's words from its published rows; the newest rules name sets and items."""
    about = programme.about
    sets: dict[str, Any] = {}
    items: dict[str, Any] = {}
    for rules in rule_sets:
        sets |= rules.body["sets"]
        items |= {item["code"]: item for item in rules.body.get("items", ())}
    return Words(
        title=programme.title,
        notice=about["notice"],
        is_sample=bool(about.get("sample")),
        facts=facts_of(about["facts"]),
        skills={
            s["code"]: SkillWords(s["code"], s["title"], s["plain"], s["group"], s["why"], tuple(s.get("cautions", ())))
            for s in about["skills"]
        },
        steps={(e.skill, e.number): {s["code"]: s for s in e.body.get("steps", ())} for e in editions},
        sets=sets,
        items=items,
    )


def facts_of(facts: Iterable[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """A programme's facts by their codes, each with its choices in order."""
    return {fact["code"]: _in_order(fact) for fact in facts}


def _in_order(fact: dict[str, Any]) -> dict[str, Any]:
    """The same fact with its choices in the order its programme gives them."""
    if "choice_order" not in fact:
        return fact
    return {**fact, "choices": {code: fact["choices"][code] for code in fact["choice_order"]}}
