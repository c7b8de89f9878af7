"""Reads a programme: skills with their editions, and dated rules (design 5)."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, date, datetime, time
from itertools import pairwise
from typing import Any

from competency.dates import Period
from competency.fields import Fields, Problem, as_date, as_instant, as_number
from competency.programme import (
    ALWAYS,
    Alternative,
    Change,
    Condition,
    Edition,
    Effect,
    Evidence,
    ItemRule,
    Measure,
    Mode,
    Need,
    Older,
    People,
    Place,
    Prerequisite,
    Programme,
    Role,
    Rules,
    Setting,
    Signer,
    Skill,
    Standard,
    Step,
    fact_key,
)

_NOON = time(12)  # a day has begun everywhere on earth at its noon in UTC
_MANY = 1_000


def read_programme(data: Any, path: str, problems: list[Problem]) -> Programme | None:
    """Read ``programme`` of a case. None, with the problems kept, where anything is wrong."""
    fields = Fields(data, path, problems)
    code = fields.text("code")
    skills: dict[str, Skill] = {}
    for at, item in fields.items("skills"):
        skill = _read_skill(item, at, problems)
        if skill is None:
            continue
        if skill.code in skills:
            problems.append(Problem(f"{at}.code", f'"{skill.code}" is there already'))
        skills[skill.code] = skill
    rules = [r for at, item in fields.items("rules") if (r := _read_rules(item, at, problems)) is not None]
    if not fields.done():
        return None
    programme = Programme(
        code=code, skills=skills, rules=tuple(sorted(rules, key=lambda r: (r.in_force_from, r.recorded_at)))
    )
    _check_references(programme, data, fields)
    return programme if fields.is_sound else None


# Skills and editions --------------------------------------------------------------------------------------


def _read_skill(data: Any, path: str, problems: list[Problem]) -> Skill | None:
    fields = Fields(data, path, problems)
    code = fields.text("code")
    editions: list[Edition] = []
    found = fields.items("editions")
    if not found and fields.is_sound:
        fields.refuse("editions", "is empty")
    numbers = [item.get("edition") for _, item in found if isinstance(item, dict)]
    first = min((n for n in numbers if isinstance(n, int)), default=None)
    paths = {}
    for at, item in found:
        edition = read_edition(item, at, problems, is_first=isinstance(item, dict) and item.get("edition") == first)
        if edition is not None:
            editions.append(edition)
            paths[id(edition)] = at
    if not fields.done():
        return None
    editions.sort(key=lambda e: e.number)
    for before, after in pairwise(editions):
        at = paths[id(after)]
        if before.number == after.number:
            problems.append(Problem(f"{at}.edition", f"{after.number} is there already"))
        elif after.in_force_from <= before.in_force_from:
            problems.append(Problem(f"{at}.in_force_from", f"is not after that of edition {before.number}"))
        elif after.standard.evidence is not before.standard.evidence:
            problems.append(Problem(f"{at}.standard.evidence", f"differs from that of edition {before.number}"))
    return Skill(code=code, editions=tuple(editions)) if fields.is_sound else None


def read_edition(data: Any, path: str, problems: list[Problem], *, is_first: bool) -> Edition | None:
    """Read one edition. is_first: it has no older sign-offs to say anything about."""
    fields = Fields(data, path, problems)
    number = fields.whole("edition", 1, 100_000)
    in_force_from = fields.day("in_force_from")
    recorded_at = fields.instant("recorded_at")
    older = _read_older(fields, in_force_from, is_first=is_first)
    applies_when = read_condition(fields, "applies_when")
    needs_authorisation = fields.flag("needs_authorisation", default=False)
    requires = _read_requires(fields)
    on_change = {
        name: change
        for at, name, item in fields.pairs("on_change", required=False)
        if (change := _read_change(item, at, problems)) is not None
    }
    early = fields.choice_or_none("evidence", list(Evidence))
    standard = _read_standard(fields.raw("standard", required=early != Evidence.CERTIFICATE), fields, early)
    steps = _read_steps(fields, required=early != Evidence.CERTIFICATE and (standard is None or _is_shown(standard)))
    if standard is not None and not _is_shown(standard) and steps:
        fields.refuse("steps", "a certificate skill has no steps")
    if in_force_from is not None and recorded_at is not None and _is_backdated(in_force_from, recorded_at):
        fields.refuse("in_force_from", "is not after the day the edition was recorded")
    if not fields.done() or standard is None:
        return None
    return Edition(
        number=number,
        in_force_from=in_force_from,
        recorded_at=recorded_at,
        older=older,
        applies_when=applies_when,
        needs_authorisation=needs_authorisation,
        requires=requires,
        on_change=on_change,
        standard=standard,
        steps=steps,
    )


def _is_shown(standard: Standard) -> bool:
    return standard.evidence is Evidence.DEMONSTRATION


def _is_backdated(in_force_from: date, recorded_at: datetime) -> bool:
    """Whether the first day had begun everywhere on earth when the edition was recorded: it is tomorrow or later."""
    return datetime.combine(in_force_from, _NOON, UTC) <= recorded_at


def _read_older(fields: Fields, in_force_from: date | None, *, is_first: bool) -> Older:
    value = fields.raw("older_sign_offs", required=not is_first)
    if value is None:
        if not is_first and fields.is_sound:
            fields.refuse("older_sign_offs", "is missing")
        return Older()
    if value in (Effect.STAND, Effect.RECHECK) and isinstance(value, str):
        return Older(effect=Effect(value))
    if not isinstance(value, dict):
        fields.refuse("older_sign_offs", 'is not "stand", "recheck" or {"recheck_by": date}')
        return Older()
    part = fields.part("older_sign_offs")
    by = part.day("recheck_by")
    if part.done() and in_force_from is not None and by < in_force_from:
        part.refuse("recheck_by", "is before the edition's first day")
    return Older(effect=Effect.RECHECK_BY, by=by)


def _read_change(value: Any, path: str, problems: list[Problem]) -> Change | None:
    if value in (Effect.RECHECK, Effect.RESTART) and isinstance(value, str):
        return Change(effect=Effect(value))
    if not isinstance(value, dict):
        problems.append(Problem(path, 'is not "recheck", "restart" or {"recheck_by": period}'))
        return None
    fields = Fields(value, path, problems)
    period = fields.period("recheck_by", zero=True)
    if fields.done() and period is None:
        fields.refuse("recheck_by", "is missing")
    return Change(effect=Effect.RECHECK_BY, period=period) if fields.is_sound else None


def _read_requires(fields: Fields) -> tuple[Prerequisite, ...]:
    found: list[Prerequisite] = []
    for at, item in fields.items("requires", required=False):
        part = Fields(item, at, fields.problems)
        skill = part.text("skill")
        within = part.period("within")
        only_to_learn = part.flag("only_to_learn", default=False)
        if part.done():
            if any(p.skill == skill for p in found):
                part.refuse("skill", f'"{skill}" is there already')
            found.append(Prerequisite(skill=skill, within=within, only_to_learn=only_to_learn))
    return tuple(found)


def read_condition(fields: Fields, key: str) -> Condition:
    """Read ``{"fact": [values, ...]}``; absent is always met."""
    allowed = []
    for at, name, values in fields.pairs(key, required=False):
        if not isinstance(values, list) or not values or not all(is_fact_value(v) for v in values):
            fields.problems.append(Problem(at, "is not a list of one or more values"))
            continue
        allowed.append((name, frozenset(fact_key(v) for v in values)))
    return Condition(tuple(allowed)) if allowed else ALWAYS


def is_fact_value(value: Any) -> bool:
    """Whether a care plan fact may have this value: true or false, a text, or a finite number."""
    if isinstance(value, str | bool):
        return value != ""
    try:
        as_number(value)
    except TypeError:
        return False
    return True


def _read_steps(fields: Fields, *, required: bool) -> tuple[Step, ...]:
    steps: list[Step] = []
    for at, item in fields.items("steps", required=required):
        part = Fields(item, at, fields.problems)
        code = part.text("code")
        critical = part.flag("critical", default=False)
        may_skip = part.flag("may_skip", default=False)
        roles = part.choices("roles", list(Role))
        applies_when = read_condition(part, "applies_when")
        measure = _read_measure(part.part("measure")) if part.has("measure") else part.raw("measure", required=False)
        if not part.done():
            continue
        if critical and may_skip:
            part.refuse("may_skip", "a critical step may not be skipped")
        if any(s.code == code for s in steps):
            part.refuse("code", f'"{code}" is there already')
        steps.append(
            Step(
                code=code, critical=critical, may_skip=may_skip, roles=roles, applies_when=applies_when, measure=measure
            )
        )
    return tuple(steps)


def _read_measure(fields: Fields) -> Measure | None:
    unit, low, high = fields.text("unit"), fields.number("low"), fields.number("high")
    low_from, high_from = _read_order(fields)
    if not fields.done():
        return None
    if low is not None and high is not None and low > high:
        fields.refuse("low", "is above high")
    return Measure(unit=unit, low=low, high=high, low_from=low_from, high_from=high_from)


def _read_order(fields: Fields) -> tuple[str | None, str | None]:
    """The facts of the care plan that state the prescriber's limits, low and high."""
    if not fields.has("order"):
        fields.raw("order", required=False)
        return None, None
    order = fields.part("order")
    found = order.text("low", required=False), order.text("high", required=False)
    order.done()
    return found


# The standard ---------------------------------------------------------------------------------------------


def _read_standard(data: Any, parent: Fields, early: str | None) -> Standard | None:
    """early: the evidence where the edition itself names it; its standard may say the same or nothing."""
    if data is None:
        if early == Evidence.CERTIFICATE:
            return Standard(evidence=Evidence.CERTIFICATE)
        if parent.has_key("standard"):
            parent.refuse("standard", "is null, not an object")
        return None
    fields = Fields(data, parent.at("standard"), parent.problems)
    evidence = Evidence(
        fields.choice("evidence", list(Evidence), default=early or Evidence.DEMONSTRATION) or Evidence.DEMONSTRATION
    )
    if early is not None and evidence != early:
        fields.refuse("evidence", "differs from the edition's own")
    is_certificate = evidence is Evidence.CERTIFICATE
    needs = _read_needs(fields, "needs", required=not is_certificate)
    renewal = _read_needs(fields, "renewal", required=False)
    after_failure = fields.choice("after_failure", ("restart", "keep"), default="restart")
    pass_mark = fields.whole("pass_mark", 0, 100, default=100)
    valid_for, first = fields.period("valid_for"), fields.period("first_valid_for")
    valid_to = fields.choice("valid_to", ("day", "month_end"), default="day")
    grace: Period | None = fields.period("grace", zero=True)
    signatures = fields.choices("signatures", list(Signer)) if fields.raw("signatures", required=False) != [] else None
    if is_certificate and (needs or renewal):
        fields.refuse("needs" if needs else "renewal", "a certificate skill has no needs")
    if not fields.done():
        return None
    return Standard(
        evidence=evidence,
        needs=needs,
        renewal=() if is_certificate else _with_filters_of(needs[0], renewal or (Need(),)),
        restart_after_failure=after_failure == "restart",
        pass_mark=pass_mark,
        valid_for=valid_for,
        first_valid_for=first,
        to_month_end=valid_to == "month_end",
        grace=valid_for if grace is None else grace,
        signatures=signatures or frozenset(),
    )


def _with_filters_of(first: Need, renewal: Iterable[Need]) -> tuple[Need, ...]:
    """For each filter a renewal need leaves out it takes the first need's: a doll renews no child's sign-off."""
    return tuple(
        Need(
            passes=need.passes,
            days=need.days,
            observers=need.observers,
            places=need.places,
            within=need.within,
            setting=first.setting if need.setting is None else need.setting,
            role=first.role if need.role is None else need.role,
            mode=first.mode if need.mode is None else need.mode,
            place=first.place if need.place is None else need.place,
        )
        for need in renewal
    )


def _read_needs(fields: Fields, key: str, *, required: bool) -> tuple[Need, ...]:
    value = fields.raw(key, required=required)
    if value is None and required and fields.has_key(key):
        fields.refuse(key, "is null, not a list of needs")
    if isinstance(value, dict):  # one need may stand without its list
        found = [(fields.at(key), value)]
    else:
        found = fields.items(key, required=False) if value is not None else []
        if value == []:
            fields.refuse(key, "is empty")
    needs = []
    for at, item in found:
        part = Fields(item, at, fields.problems)
        need = Need(
            passes=part.whole("passes", 1, _MANY, default=1),
            days=part.whole("days", 1, _MANY, default=1),
            observers=part.whole("observers", 1, _MANY, default=1),
            places=part.whole("places", 1, len(Place), default=1),
            within=part.period("within"),
            setting=part.choices("setting", list(Setting)),
            role=part.choices("role", list(Role)),
            mode=part.choices("mode", list(Mode)),
            place=part.choices("place", list(Place)),
        )
        if part.done():
            needs.append(need)
    return tuple(needs)


# Rules ----------------------------------------------------------------------------------------------------


def _read_rules(data: Any, path: str, problems: list[Problem]) -> Rules | None:
    fields = Fields(data, path, problems)
    in_force_from, recorded_at = fields.day("in_force_from"), fields.instant("recorded_at")
    sets: dict[str, tuple[str, ...]] = {}
    for at, name, skills in fields.pairs("sets"):
        if not isinstance(skills, list) or not all(isinstance(s, str) for s in skills):
            problems.append(Problem(at, "is not a list of skills"))
        elif len(set(skills)) != len(skills):
            problems.append(Problem(at, "names a skill twice"))
        else:
            sets[name] = tuple(skills)
    team = [_read_alternative(item, at, problems, set(sets)) for at, item in fields.items("team")]
    items: list[ItemRule] = []
    for at, item in fields.items("items", required=False):
        part = Fields(item, at, problems)
        code, valid_for = part.text("code"), part.period("valid_for")
        if part.done():
            if any(i.code == code for i in items):
                part.refuse("code", f'"{code}" is there already')
            items.append(ItemRule(code=code, valid_for=valid_for))
    if not fields.done():
        return None
    return Rules(
        in_force_from=in_force_from,
        recorded_at=recorded_at,
        sets=sets,
        team=tuple(a for a in team if a is not None),
        items=tuple(items),
    )


def _read_alternative(data: Any, path: str, problems: list[Problem], sets: set[str]) -> Alternative | None:
    fields = Fields(data, path, problems)
    name = fields.text("name")
    people: list[People] = []
    rows = fields.items("people")
    if not rows and fields.is_sound:
        fields.refuse("people", "is empty")
    for at, item in rows:
        part = Fields(item, at, problems)
        set_ = part.text("set")
        count = part.whole("count", 1, 100)
        minimum_age = part.whole("minimum_age", 0, 150, required=False)
        if part.done():
            if set_ not in sets:
                part.refuse("set", f'"{set_}" is no set of these rules')
            people.append(People(set=set_, count=count, minimum_age=minimum_age))
    patient_alone = fields.flag("patient_alone", default=False)
    return Alternative(name=name, people=tuple(people), patient_alone=patient_alone) if fields.done() else None


# References and cycles ------------------------------------------------------------------------------------


def _check_references(programme: Programme, data: Any, fields: Fields) -> None:
    """Every skill that is named is there, no two rules compete, and no prerequisites go in a circle."""
    problems = fields.problems
    for i, skill in enumerate(data["skills"]):
        for j, edition in enumerate(skill["editions"]):
            for k, prerequisite in enumerate(edition.get("requires") or ()):
                if prerequisite["skill"] not in programme.skills:
                    at = fields.at(f"skills[{i}].editions[{j}].requires[{k}].skill")
                    problems.append(Problem(at, f'"{prerequisite["skill"]}" is no skill here'))
    seen = set()
    for i, rules in enumerate(data["rules"]):
        for name, skills in rules["sets"].items():
            for k, unknown in enumerate(skills):
                if unknown not in programme.skills:
                    problems.append(Problem(fields.at(f"rules[{i}].sets.{name}[{k}]"), f'"{unknown}" is no skill here'))
        begin = (as_date(rules["in_force_from"]), as_instant(rules["recorded_at"]))
        if begin in seen:
            problems.append(Problem(fields.at(f"rules[{i}].in_force_from"), "other rules begin and were recorded then"))
        seen.add(begin)
    if fields.is_sound:
        _check_circles(programme, fields)


def _check_circles(programme: Programme, fields: Fields) -> None:
    order = list(programme.skills)
    for day in sorted({e.in_force_from for s in programme.skills.values() for e in s.editions}):
        circle = find_cycle(programme, day)
        if circle:
            at = fields.at(f"skills[{order.index(circle[0])}].editions")
            message = f"the prerequisites in force on {day} go in a circle: {' needs '.join(circle)}"
            fields.problems.append(Problem(at, message))
            return


def find_cycle(programme: Programme, day: date) -> list[str]:
    """The skills of a circle of prerequisites in force on ``day``, the first again at the end; else empty."""
    requires = {
        code: [p.skill for p in edition.requires] if (edition := skill.in_force(day)) is not None else []
        for code, skill in programme.skills.items()
    }
    done: set[str] = set()

    def walk(code: str, way: list[str]) -> list[str]:
        if code in way:
            return [*way[way.index(code) :], code]
        if code not in done:
            for other in requires.get(code, ()):
                found = walk(other, [*way, code])
                if found:
                    return found
            done.add(code)
        return []

    return next((found for code in requires if (found := walk(code, []))), [])
