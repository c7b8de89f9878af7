"""What a programme wants computed beside a prescriber's order, and whether the two agree.

Which rule and which limits are used is the programme's setting, because published sources differ. Nothing here
changes what is ordered or how a step is judged.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from competency.figures.catheter import CatheterRule
from competency.figures.pressure import PASCAL, Pressure
from competency.figures.tubes import spares

Stated = Mapping[str, Any]
"""A care plan's facts by name, as they were entered."""
ALL = "all"


@dataclass(frozen=True, slots=True, kw_only=True)
class CatheterCheck:
    """tube, order: the facts with the tube's inner diameter in mm and the catheter ordered in French gauge."""

    tube: str
    order: str
    rule: CatheterRule
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SparesCheck:
    """tube: the fact with the tube's inner diameter in mm; step_mm: how far two sizes lie apart."""

    tube: str
    step_mm: Fraction
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TubeFacts:
    """The facts with a tube's inner and outer diameter in mm: sizes that no tube can have are refused."""

    inner: str
    outer: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """An inclusive range; None is no limit on that side."""

    low: Fraction | None
    high: Fraction | None
    source: str

    def allows(self, value: Fraction) -> bool:
        return (self.low is None or self.low <= value) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeCheck:
    """An ordered number and the range it is looked for in, such as vacuum by age group, or cuff pressure.

    order: the fact with the ordered number. unit: of the limits; a pressure in another unit is converted.
    by: the fact that chooses the limits; None where one range holds for all (the key is then `ALL`).
    """

    code: str
    title: str
    order: str
    unit: str
    by: str | None
    limits: Mapping[str, Limits]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checks:
    """All that one programme wants computed."""

    tube: TubeFacts | None = None
    catheter: CatheterCheck | None = None
    spares: SparesCheck | None = None
    ranges: tuple[RangeCheck, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """One check under one care plan.

    ordered: the number ordered, in `unit`; None where none is. low, high: what the check allows, in `unit`.
    sizes: spare tubes' inner diameters in mm. agrees: None where nothing is ordered or nothing can be computed.
    lacks: the fact without which nothing can be computed; None where it could. no_limits_for: the value stated for
    it, where the programme sets no limits for that one.
    """

    check: str
    unit: str
    source: str = ""
    title: str = ""
    ordered: Fraction | None = None
    low: Fraction | None = None
    high: Fraction | None = None
    sizes: tuple[Fraction, ...] = ()
    rule: CatheterRule | None = None
    agrees: bool | None = None
    lacks: str | None = None
    no_limits_for: str | None = None
    nothing_fits: bool = False


def findings(checks: Checks, stated: Stated, units: Mapping[str, str]) -> Iterator[Finding]:
    """Every check of a programme under one care plan. units: of the facts that are numbers."""
    if checks.catheter is not None:
        yield _catheter(checks.catheter, stated)
    for check in checks.ranges:
        yield _range(check, stated, units)
    if checks.spares is not None:
        yield _spares(checks.spares, stated)


def number(stated: Stated, fact: str) -> Fraction | None:
    """A stated number, exactly as it was entered; None where the fact states none."""
    value = stated.get(fact)
    if value is None or isinstance(value, bool | str):
        return None
    return Fraction(str(value))


def _catheter(check: CatheterCheck, stated: Stated) -> Finding:
    tube, ordered = number(stated, check.tube), number(stated, check.order)
    if tube is None or tube <= 0:
        return Finding(check="catheter", unit="Fr", source=check.source, ordered=ordered, lacks=check.tube)
    largest = check.rule.largest(tube)
    return Finding(
        check="catheter",
        unit="Fr",
        source=check.source,
        ordered=ordered,
        high=None if largest is None else Fraction(largest),
        rule=check.rule,
        agrees=None if ordered is None else check.rule.allows(ordered, tube),
        nothing_fits=largest is None,
    )


def _range(check: RangeCheck, stated: Stated, units: Mapping[str, str]) -> Finding:
    ordered = _in_unit(number(stated, check.order), units.get(check.order, check.unit), check.unit)
    chosen = ALL if check.by is None else stated.get(check.by)
    limits = check.limits.get(str(chosen))
    if limits is None:
        unset = None if chosen is None else str(chosen)
        return Finding(
            check=check.code,
            title=check.title,
            unit=check.unit,
            lacks=check.by,
            ordered=ordered,
            no_limits_for=unset,
        )
    return Finding(
        check=check.code,
        title=check.title,
        unit=check.unit,
        source=limits.source,
        ordered=ordered,
        low=limits.low,
        high=limits.high,
        agrees=None if ordered is None else limits.allows(ordered),
    )


def _in_unit(value: Fraction | None, unit: str, wanted: str) -> Fraction | None:
    if value is None or unit == wanted or unit not in PASCAL or wanted not in PASCAL:
        return value
    return Pressure(value, unit).to(wanted).value


def _spares(check: SparesCheck, stated: Stated) -> Finding:
    tube = number(stated, check.tube)
    if tube is None or tube <= check.step_mm:
        return Finding(check="spares", unit="mm", source=check.source, lacks=check.tube)
    return Finding(check="spares", unit="mm", source=check.source, sizes=spares(tube, check.step_mm))
