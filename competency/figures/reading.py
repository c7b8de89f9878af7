"""The `checks` of a programme file read into values; every problem is named with its path."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from competency.fields import Fields, Problem
from competency.figures.catheter import By, CatheterRule
from competency.figures.checks import ALL, CatheterCheck, Checks, Limits, RangeCheck, SparesCheck, TubeFacts
from competency.figures.pressure import PASCAL

FactUnits = Mapping[str, str | None]
"""The programme's facts: a number's unit, None for what is no number."""


def read_checks(data: Any, facts: FactUnits, problems: list[Problem], path: str = "checks") -> Checks:
    """What a programme wants computed. Problems are added to the list; what is wrong is left out."""
    fields = Fields(data, path, problems)
    reader = _Reader(facts, problems)
    tube = reader.tube(fields.part("tube")) if fields.has("tube") else None
    catheter = reader.catheter(fields.part("catheter")) if fields.has("catheter") else None
    spares = reader.spares(fields.part("spares")) if fields.has("spares") else None
    ranges = [reader.range(Fields(item, at, problems)) for at, item in fields.items("ranges", required=False)]
    codes = [r.code for r in ranges if r is not None]
    for i, code in enumerate(codes):
        if code in codes[:i] or code in ("catheter", "spares"):
            problems.append(Problem(f"{path}.ranges[{i}].code", f'"{code}" is there already'))
    for key in ("tube", "catheter", "spares"):
        fields.raw(key, required=False)
    fields.done()
    return Checks(tube=tube, catheter=catheter, spares=spares, ranges=tuple(r for r in ranges if r is not None))


class _Reader:
    def __init__(self, facts: FactUnits, problems: list[Problem]) -> None:
        self.facts, self.problems = facts, problems

    def tube(self, fields: Fields) -> TubeFacts | None:
        inner, outer = self.fact(fields, "inner", "mm"), self.fact(fields, "outer", "mm")
        return TubeFacts(inner=inner, outer=outer) if fields.done() else None

    def catheter(self, fields: Fields) -> CatheterCheck | None:
        tube, order = self.fact(fields, "tube", "mm"), self.fact(fields, "order", "Fr")
        by = fields.choice("by", list(By), default=By.DIAMETER)
        per_cent = fields.whole("per_cent", 1, 99)
        strictly = fields.flag("strictly_below", default=False)
        source = fields.text("source")
        if not fields.done():
            return None
        rule = CatheterRule(by=By(by), per_cent=Fraction(per_cent), strictly_below=strictly)
        return CatheterCheck(tube=tube, order=order, rule=rule, source=source)

    def spares(self, fields: Fields) -> SparesCheck | None:
        tube, step, source = self.fact(fields, "tube", "mm"), self.above_zero(fields, "step_mm"), fields.text("source")
        return SparesCheck(tube=tube, step_mm=step, source=source) if fields.done() else None

    def range(self, fields: Fields) -> RangeCheck | None:
        code, title, unit = fields.text("code"), fields.text("title"), fields.text("unit")
        order, by = self.fact(fields, "order", unit), self.chooser(fields)
        limits = {name: self.limits(Fields(item, at, self.problems)) for at, name, item in fields.pairs("limits")}
        if not limits:
            fields.refuse("limits", "is empty")
        if by is None and set(limits) - {ALL}:
            fields.refuse("by", 'is missing: it chooses among the limits; one range for everybody is named "all"')
        if not fields.done():
            return None
        sound = {name: found for name, found in limits.items() if found is not None}
        return RangeCheck(code=code, title=title, order=order, unit=unit, by=by, limits=sound)

    def limits(self, fields: Fields) -> Limits | None:
        low, high, source = fields.number("low"), fields.number("high"), fields.text("source")
        if low is None and high is None:
            fields.refuse("high", "is missing, and low too")
        if low is not None and high is not None and low > high:
            fields.refuse("low", "is above high")
        return Limits(low=_exact(low), high=_exact(high), source=source) if fields.done() else None

    def chooser(self, fields: Fields) -> str | None:
        by: str | None = fields.text("by", required=False)
        if by is not None and by not in self.facts:
            fields.refuse("by", f"{by} is no fact of this programme")
        return by

    def fact(self, fields: Fields, key: str, unit: str | None) -> Any:
        """The name of a fact that is a number in this unit, or in another unit of pressure."""
        name = fields.text(key)
        if name is None:
            return None
        if name not in self.facts:
            fields.refuse(key, f"{name} is no fact of this programme")
        elif self.facts[name] is None:
            fields.refuse(key, f"{name} is no number")
        elif self.facts[name] != unit and not {self.facts[name], unit} <= PASCAL.keys():
            fields.refuse(key, f"{name} is in {self.facts[name]}, not in {unit}")
        return name

    def above_zero(self, fields: Fields, key: str) -> Any:
        value = fields.number(key, required=True)
        if value is not None and value <= 0:
            fields.refuse(key, "is not above zero")
        return _exact(value)


def _exact(value: float | None) -> Fraction | None:
    return None if value is None else Fraction(str(value))
