"""What a demonstration has to look like to count for a standard, and to be done alone in every step."""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from competency.programme import Edition, FactValue, Measure, Need, Standard, fact_key

_PATIENT_LAST = ("model", "simulation", "patient")


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """In which setting, role, mode and place something is shown."""

    setting: str
    role: str
    mode: str
    place: str

    def as_body(self) -> dict[str, str]:
        return asdict(self)


def ways(standard: Standard, place: str) -> list[Way]:
    """One way for each pass a full sign-off asks for, those away from the patient first."""
    found = [_way(need, place) for need in standard.needs for _ in range(need.passes)]
    return sorted(found, key=lambda way: _PATIENT_LAST.index(way.setting))


def way_of_renewal(standard: Standard, place: str) -> Way:
    return _way(standard.renewal[0], place)


def _way(need: Need, place: str) -> Way:
    return Way(
        setting=next((s for s in _PATIENT_LAST if s in need.setting), "patient") if need.setting else "patient",
        role=_first(need.role, "lead"),
        mode=_first(need.mode, "in_person"),
        place=_first(need.place, place),
    )


def _first(allowed: Collection[str] | None, usual: str) -> str:
    return usual if not allowed or usual in allowed else min(allowed)


def results(
    edition: Edition, role: str, facts: Mapping[str, FactValue], changed: Mapping[str, Any], stopped_at: str | None
) -> dict[str, Any]:
    """Every step that applies, done alone but for the changed ones; from ``stopped_at`` on nothing was seen."""
    keys = {name: fact_key(value) for name, value in facts.items()}
    found: dict[str, Any] = {}
    stopped = False
    for step in edition.steps_for(role, keys):
        stopped = stopped or step.code == stopped_at
        if stopped:
            found[step.code] = "not_seen"
        elif step.code in changed:
            found[step.code] = changed[step.code]
        elif step.measure is not None:
            found[step.code] = {"result": "independent", "value": within(step.measure)}
        else:
            found[step.code] = "independent"
    return found


def within(measure: Measure) -> int:
    """A whole number inside the limits."""
    if measure.low is None:
        return math.floor((measure.high or 0) * 0.8)
    if measure.high is None:
        return math.ceil(measure.low) + 1
    return math.ceil((measure.low + measure.high) / 2)
