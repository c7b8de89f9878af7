"""What is wrong with a draft, beyond what the rules package refuses: words, facts, standards and teams nobody can meet.

Paths start inside the draft's own body: ``edition.steps[2].text``, ``team[0].people[1].set``.
"""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from typing import Any

from competency.dates import Period
from competency.fields import Problem
from training.curriculum.drafting import steps_for_needs
from training.curriculum.programme_wording import ordered

LONGEST = {"title": 120, "plain": 200, "why": 500, "text": 300, "watch": 500, "source": 500, "caution": 500}
MOST_STEPS = 100

Facts = Mapping[str, Mapping[str, Any]]


def problems_of_edition(body: Mapping[str, Any], facts: Facts) -> Iterator[Problem]:
    """body: of a skill's draft. facts: the programme's, by code."""
    yield from words_wrong(body["words"], "words", ("title", "plain", "why"))
    for i, caution in enumerate(body["words"].get("cautions", ())):
        yield from _length(caution, "caution", f"words.cautions[{i}]")
    edition = body["edition"]
    yield from conditions_wrong(edition.get("applies_when"), facts, "edition.applies_when")
    for fact in edition.get("on_change", {}):
        if fact not in facts:
            yield Problem(f"edition.on_change.{fact}", "is no fact of this programme")
    steps = edition.get("steps", ())
    if len(steps) > MOST_STEPS:
        yield Problem("edition.steps", f"has more than {MOST_STEPS} steps")
    for i, step in enumerate(steps):
        at = f"edition.steps[{i}]"
        yield from words_wrong(step, at, ("text",))
        yield from conditions_wrong(step.get("applies_when"), facts, f"{at}.applies_when")
        yield from ordered(step.get("measure"), f"{at}.measure", facts)
    yield from problems_of_standard(edition)


def problems_of_standard(edition: Mapping[str, Any]) -> Iterator[Problem]:
    """Needs that no history could meet."""
    standard = edition.get("standard", {})
    if standard.get("evidence") == "certificate":
        return
    for key in ("needs", "renewal"):
        for i, need in enumerate(standard.get(key) or ()):
            yield from _need(need, f"edition.standard.{key}[{i}]")
    if not edition.get("steps"):
        yield Problem("edition.steps", "is empty: nothing could be shown, and nobody signed off")
    else:
        yield from (Problem(f"edition.{p.path}", p.message) for p in steps_for_needs(edition))


def _need(need: Mapping[str, Any], at: str) -> Iterator[Problem]:
    places, allowed = need.get("places", 1), need.get("place") or ()
    if allowed and places > len(allowed):
        yield Problem(f"{at}.places", f"asks for {places} different places and looks only at {len(allowed)}")
    window = Period.parse(need["within"]) if need.get("within") else None
    days = need.get("days", 1)
    if window and not window.months and days > window.days + 1:
        yield Problem(f"{at}.days", f"{days} different days do not fit into {window.days + 1}")


def problems_of_rules(body: Mapping[str, Any], skills: Container[str]) -> Iterator[Problem]:
    """body: sets, team, items. skills: the codes that will have an edition."""
    sets = body.get("sets", {})
    for code, set_ in sets.items():
        yield from words_wrong(set_, f"sets.{code}", ("title",))
        for k, skill in enumerate(set_.get("skills", ())):
            if skill not in skills:
                yield Problem(f"sets.{code}.skills[{k}]", f"“{skill}” has no edition yet; publish it with these")
    if not body.get("team"):
        yield Problem("team", "is empty: no family could ever be ready")
    for i, way in enumerate(body.get("team", ())):
        for k, people in enumerate(way.get("people", ())):
            yield from _people(people, sets, f"team[{i}].people[{k}]")
    for i, item in enumerate(body.get("items", ())):
        yield from words_wrong(item, f"items[{i}]", ("title",))


def _people(people: Mapping[str, Any], sets: Mapping[str, Any], at: str) -> Iterator[Problem]:
    """A team that cannot be met: nobody holds a set that is not there, or that asks for nothing."""
    code = people.get("set")
    if code not in sets:
        yield Problem(f"{at}.set", f"asks for people who hold “{code}”, and there is no such set")
    elif not sets[code].get("skills"):
        yield Problem(f"{at}.set", f"the set “{sets[code].get('title', code)}” has no skill, so nobody can hold it")


def words_wrong(data: Mapping[str, Any], at: str, wanted: tuple[str, ...]) -> Iterator[Problem]:
    """What is empty of these words, and what is too long of any. at: the path before them, where there is one."""
    before = f"{at}." if at else ""
    for key in wanted:
        if not isinstance(data.get(key), str) or not data[key].strip():
            yield Problem(f"{before}{key}", "is empty")
    for key in LONGEST:
        yield from _length(data.get(key), key, f"{before}{key}")


def _length(text: Any, key: str, at: str) -> Iterator[Problem]:
    if isinstance(text, str) and len(text) > LONGEST[key]:
        yield Problem(at, f"has {len(text)} letters; {LONGEST[key]} is the most")


def conditions_wrong(applies_when: Mapping[str, Any] | None, facts: Facts, at: str) -> Iterator[Problem]:
    """Conditions on facts that are not there, or on values they never have."""
    for code, values in (applies_when or {}).items():
        if code not in facts:
            yield Problem(f"{at}.{code}", "is no fact of this programme")
            continue
        for value in values if isinstance(values, list) else ():
            if not is_possible(facts[code], value):
                yield Problem(f"{at}.{code}", f"“{value}” is no value this fact can have")


def is_possible(fact: Mapping[str, Any], value: Any) -> bool:
    """Whether a care plan could state this value."""
    if fact.get("kind") == "yes_no":
        return isinstance(value, bool)
    if fact.get("kind") == "choice":
        return str(value) in {str(choice) for choice in fact.get("choices", {})}
    if isinstance(value, bool) or not isinstance(value, int | float):
        return False
    low, high = fact.get("low"), fact.get("high")
    return (low is None or value >= low) and (high is None or value <= high)
