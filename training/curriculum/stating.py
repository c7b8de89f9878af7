"""What a programme lets a care plan state, its notice and its checks: a draft of them, and what may not be done.

They belong to no edition, so what is published of them holds at once. A published fact keeps its code, kind, unit and
choices, because care plans state it: it is reworded, or retired, which leaves its words to the plans that state it.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, datetime
from typing import Any

from django.utils.translation import gettext as _

from competency.fields import Problem
from training.curriculum.checks import problems_of
from training.curriculum.drafting import FACTS, OF_FACTS, begin, part_of
from training.curriculum.judging import conditions_wrong, words_wrong
from training.curriculum.models import Edition, Programme, ProgrammeDraft
from training.curriculum.programme_wording import ordered

LONGEST_NOTICE = 1000

Facts = Mapping[str, Mapping[str, Any]]  # by their codes


def begin_facts(programme: Programme, *, by: Any, at: datetime) -> ProgrammeDraft:
    """The draft of a programme's title, notice, facts and checks."""
    part = part_of(programme.about)
    return begin(programme, FACTS, {**copy.deepcopy(part), "begun_from": part}, None, by, at)


def is_overtaken(draft: ProgrammeDraft) -> bool:
    """Whether something else of this part was published since the draft was begun."""
    return bool(draft.body["begun_from"] != part_of(draft.programme.about))


def with_part(about: Mapping[str, Any], body: Mapping[str, Any]) -> dict[str, Any]:
    """The programme's words with the draft's in place of those published; it stays a sample until a draft says not."""
    gone = {*OF_FACTS, "sample"} if body.get("adapted") else {*OF_FACTS}
    rest = {key: value for key, value in about.items() if key not in gone}
    return {**rest, **{key: body[key] for key in OF_FACTS if body.get(key)}, "facts": body["facts"]}


def by_code(facts: Iterable[Mapping[str, Any]]) -> dict[str, dict[str, Any]]:
    return {fact["code"]: dict(fact) for fact in facts}


def in_force_since(editions: Iterable[Edition], today: date) -> list[Edition]:
    """Of each skill, the edition in force today and those to come: what still asks a care plan for a fact."""
    skills: dict[str, list[Edition]] = {}
    for edition in sorted(editions, key=lambda e: e.in_force_from):
        found = skills.setdefault(edition.skill, [])
        if edition.in_force_from <= today:
            found.clear()
        found.append(edition)
    return [edition for found in skills.values() for edition in found]


# Where a fact is used -------------------------------------------------------------------------------------


def uses(edition: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Each place of an edition that names a fact: the fact, and the place in words."""
    for fact in edition.get("applies_when") or {}:
        yield fact, _("the condition")
    for fact in edition.get("on_change") or {}:
        yield fact, _("what its change does")
    for n, step in enumerate(edition.get("steps", ()), start=1):
        for fact in step.get("applies_when") or {}:
            yield fact, _("the condition of step %(n)s") % {"n": n}
        for fact in ((step.get("measure") or {}).get("order") or {}).values():
            yield fact, _("the limit of step %(n)s") % {"n": n}


def uses_in_checks(checks: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """Each fact that a check reads, and the check in words."""
    for key, title in (("tube", _("the tube’s sizes")), ("catheter", _("the catheter")), ("spares", _("the spares"))):
        for name in ("tube", "inner", "outer", "order"):
            if name in checks.get(key, {}):
                yield checks[key][name], title
    for found in checks.get("ranges", ()):
        for name in ("order", "by"):
            if found.get(name):
                yield found[name], f"“{found['title']}”"


def uses_of(fact: str, body: Mapping[str, Any], editions: Iterable[tuple[str, Mapping[str, Any]]]) -> Iterator[Problem]:
    """What stands in the way of retiring a fact. body: of the draft; editions: each with its title."""
    for title, edition in editions:
        for named, place in uses(edition):
            if named == fact:
                yield Problem(title, _("%(place)s uses this fact") % {"place": place})
    for named, place in uses_in_checks(body.get("checks") or {}):
        if named == fact:
            yield Problem(_("Checks"), _("%(place)s uses this fact") % {"place": place})


# Judging --------------------------------------------------------------------------------------------------


def problems_of_facts(
    body: Mapping[str, Any], published: Mapping[str, Any], editions: Iterable[tuple[str, Mapping[str, Any]]]
) -> Iterator[Problem]:
    """What is wrong with a draft of this part. editions: those in force or to come, each with its title."""
    yield from words_wrong(body, "", ("title", "notice"))
    if len(str(body.get("notice", ""))) > LONGEST_NOTICE:
        yield Problem("notice", f"has more than {LONGEST_NOTICE} letters")
    facts, there = by_code(body["facts"]), by_code(published["facts"])
    for code, fact in facts.items():
        yield from _fact(fact, there.get(code))
    for code, fact in there.items():
        if code not in facts:
            yield Problem(fact["title"], "is published and cannot be taken away; retire it")
    yield from problems_of(body.get("checks") or {}, offered(facts))
    for title, edition in editions:
        yield from _against(title, edition, offered(facts))


def offered(facts: Facts) -> dict[str, Mapping[str, Any]]:
    """The facts that a care plan still states."""
    return {code: fact for code, fact in facts.items() if not fact.get("retired")}


def _fact(fact: Mapping[str, Any], there: Mapping[str, Any] | None) -> Iterator[Problem]:
    title = str(fact.get("title", ""))
    for p in words_wrong(fact, "", ("title", "plain")):
        yield Problem(title or fact["code"], f"{p.path}: {p.message}")
    if fact["kind"] == "choice" and not fact.get("choices"):
        yield Problem(title, "has no choices")
    low, high = fact.get("low"), fact.get("high")
    if low is not None and high is not None and low > high:
        yield Problem(title, "its lowest number is above its highest")
    if there is not None:
        yield from (Problem(title, said) for _key, said in changed(fact, there))


def changed(fact: Mapping[str, Any], there: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    """What a published fact may not lose, and has lost: the key, and why not."""
    for key, said in (("kind", "its kind"), ("unit", "its unit")):
        if fact.get(key) != there.get(key):
            yield key, f"{said} is published: care plans state it so; retire it and add another"
    for code in there.get("choices", {}):
        if code not in fact.get("choices", {}):
            yield "choices", f"its choice “{there['choices'][code]}” is published and stays"


def _against(title: str, edition: Mapping[str, Any], facts: Facts) -> Iterator[Problem]:
    """Conditions and limits of an edition that these facts would leave empty."""
    for path, asked in _conditions(edition):
        for p in conditions_wrong(asked, facts, path):
            yield Problem(f"{title}, {p.path}", p.message)
    for n, step in enumerate(edition.get("steps", ())):
        for p in ordered(step.get("measure"), f"step {n + 1}", facts):
            yield Problem(f"{title}, {p.path}", p.message)
    for fact in edition.get("on_change") or {}:
        if fact not in facts:
            yield Problem(f"{title}, on_change.{fact}", "is no fact of this programme")


def _conditions(edition: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    yield "condition", edition.get("applies_when")
    for n, step in enumerate(edition.get("steps", ()), start=1):
        yield f"step {n}, condition", step.get("applies_when")
