"""Computed checks in words, for staff: what is ordered, what the programme's rule computes, and whether they agree."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.utils.translation import gettext as _

from competency.fields import Problem
from competency.figures.catheter import By, CatheterRule
from competency.figures.checks import Checks, Finding, RangeCheck, findings, number
from competency.figures.pressure import round_half_up
from competency.figures.reading import read_checks
from competency.figures.tubes import BadTubeError, check_tube
from training.curriculum.words import Words


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckShown:
    """One check as a line. agrees: None where nothing is ordered, or nothing can be computed."""

    title: str
    ordered: str
    computed: str
    rule: str
    source: str
    agrees: bool | None

    @property
    def disagrees(self) -> bool:
        return self.agrees is False


def problems_of(data: Any, facts: Mapping[str, Any]) -> list[Problem]:
    """What is wrong with the checks of a programme file. facts: the file's own, by code."""
    problems: list[Problem] = []
    read_checks(json.loads(json.dumps(data, default=float)), _units(facts), problems)
    return problems


def shown(settings: Any, words: Words, stated: Mapping[str, Any]) -> list[CheckShown]:
    """A programme's checks under a care plan; none where the programme wants none.

    settings: the programme's `checks`, as published. stated: the care plan's facts.
    """
    if not settings:
        return []
    units = _units(words.facts)
    checks: Checks = read_checks(settings, units, [])
    return [_shown(f, words) for f in findings(checks, stated, {k: u for k, u in units.items() if u})]


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckSet:
    """One check of a programme as it is set, in words. code: "tube", "catheter", "spares", or a range's own."""

    code: str
    title: str
    rules: tuple[str, ...]
    sources: tuple[str, ...]


def settings_in_words(settings: Any, words: Words) -> list[CheckSet]:
    """What a programme wants computed, rule by rule, for who sets it."""
    checks = read_checks(settings or {}, _units(words.facts), [])
    return list(_set(checks, words))


def _set(checks: Checks, words: Words) -> Iterator[CheckSet]:
    if checks.tube:
        said = _("A tube whose outer diameter is not above its inner one is refused.")
        yield CheckSet(code="tube", title=_("The tube’s sizes"), rules=(said,), sources=())
    if checks.catheter:
        title, rule = _("Suction catheter for this tube"), _rule(checks.catheter.rule)
        yield CheckSet(code="catheter", title=title, rules=(rule,), sources=(checks.catheter.source,))
    for found in checks.ranges:
        groups = list(words.facts.get(found.by or "", {}).get("choices", ()))
        names = sorted(found.limits, key=lambda name: groups.index(name) if name in groups else len(groups))
        lines = tuple(_limit(found, name, words) for name in names)
        sources = tuple(dict.fromkeys(limits.source for limits in found.limits.values()))
        yield CheckSet(code=found.code, title=found.title, rules=lines, sources=sources)
    if checks.spares:
        said = _("One of the same size and one %(step)s mm smaller.") % {"step": _number(checks.spares.step_mm)}
        yield CheckSet(code="spares", title=_("Spare tubes at hand"), rules=(said,), sources=(checks.spares.source,))


def _limit(check: RangeCheck, name: str, words: Words) -> str:
    limits = check.limits[name]
    said = " ".join(_range(Finding(check=check.code, unit=check.unit, low=limits.low, high=limits.high)))
    return said if check.by is None else f"{words.fact_value(check.by, name)}: {said}"


def impossible_tube(settings: Any, words: Words, stated: Mapping[str, Any]) -> tuple[str, str] | None:
    """The fact and the words where a care plan's tube cannot be; None where it can, or is not looked at."""
    checks = read_checks(settings or {}, _units(words.facts), [])
    if checks.tube is None:
        return None
    try:
        check_tube(number(stated, checks.tube.inner), number(stated, checks.tube.outer))
    except BadTubeError:
        return checks.tube.outer, _(
            "No tube has these sizes: the outer diameter is above the inner, and both above zero."
        )
    return None


def _units(facts: Mapping[str, Any]) -> dict[str, str | None]:
    return {code: fact.get("unit") if fact.get("kind") == "number" else None for code, fact in facts.items()}


def _shown(found: Finding, words: Words) -> CheckShown:
    return CheckShown(
        title=_title(found),
        ordered="" if found.ordered is None else f"{_number(found.ordered)} {found.unit}",
        computed=_computed(found, words),
        rule=_rule(found.rule) if found.rule else "",
        source=found.source,
        agrees=found.agrees,
    )


def _title(found: Finding) -> str:
    if found.check == "catheter":
        return _("Suction catheter for this tube")
    return _("Spare tubes at hand") if found.check == "spares" else found.title


def _computed(found: Finding, words: Words) -> str:
    if found.lacks and found.no_limits_for is not None:
        value = words.fact_value(found.lacks, found.no_limits_for)
        return _("Not computed: the programme sets no limits for %(fact)s “%(value)s”.") % {
            "fact": words.fact(found.lacks),
            "value": value,
        }
    if found.lacks:
        return _("Not computed: the care plan does not state “%(fact)s”.") % {"fact": words.fact(found.lacks)}
    if found.nothing_fits:
        return _("No catheter fits: the smallest is too thick by this rule.")
    if found.sizes:
        return _("%(sizes)s mm inside, one each") % {"sizes": ", ".join(_number(size) for size in found.sizes)}
    return " ".join(_range(found))


def _range(found: Finding) -> Iterator[str]:
    said = {"low": found.low and _number(found.low), "high": found.high and _number(found.high), "unit": found.unit}
    if found.low is not None and found.high is not None:
        yield _("%(low)s to %(high)s %(unit)s") % said
    elif found.high is not None:
        yield _("at most %(high)s %(unit)s") % said
    else:
        yield _("at least %(low)s %(unit)s") % said


def _rule(rule: CatheterRule) -> str:
    said = {"share": _number(rule.per_cent)}
    area, below = rule.by is By.AREA, rule.strictly_below
    if area and below:
        return _("below %(share)s %% of the tube’s area") % said
    if area:
        return _("at most %(share)s %% of the tube’s area") % said
    if below:
        return _("below %(share)s %% of the tube’s inner diameter") % said
    return _("at most %(share)s %% of the tube’s inner diameter") % said


def _number(value: Fraction) -> str:
    return round_half_up(value, 2)
