"""Where each skill of a map stands: columns by how many gates come before, rows so that few lines cross."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Codes = Sequence[str]
Gates = Mapping[str, Codes]
"""For each skill, in the programme's order, the skills that must be signed off first. No circles."""

SWEEPS = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """column: counted from the left; row: from the top of its column; both from 0."""

    column: int
    row: int


def places(gates: Gates) -> dict[str, Place]:
    """A place for each skill. The same gates give the same places."""
    columns = _columns(gates)
    rows = {code: number for column in columns for number, code in enumerate(column)}
    opens = _turned(gates)
    for sweep in range(SWEEPS):
        looks_at, order = (gates, columns) if sweep % 2 == 0 else (opens, columns[::-1])
        for column in order:
            column.sort(key=lambda code: _middle(code, looks_at[code], rows))
            rows |= {code: number for number, code in enumerate(column)}
    return {code: Place(column=c, row=r) for c, column in enumerate(columns) for r, code in enumerate(column)}


def _columns(gates: Gates) -> list[list[str]]:
    """Each skill one column right of its furthest gate; skills in no gate at all stand last in the first column."""
    depth: dict[str, int] = {}

    def of(code: str) -> int:
        if code not in depth:
            depth[code] = 1 + max((of(gate) for gate in gates[code]), default=-1)
        return depth[code]

    opens = _turned(gates)
    columns: list[list[str]] = [[] for _ in range(1 + max((of(code) for code in gates), default=-1))]
    for code in sorted(gates, key=lambda c: not gates[c] and not opens[c]):
        columns[depth[code]].append(code)
    return columns


def _turned(gates: Gates) -> dict[str, list[str]]:
    """For each skill those that wait for it."""
    found: dict[str, list[str]] = {code: [] for code in gates}
    for code, before in gates.items():
        for gate in before:
            found[gate].append(code)
    return found


def _middle(code: str, neighbours: Codes, rows: Mapping[str, int]) -> float:
    """The mean row of a skill's neighbours; its own where it has none."""
    return sum(rows[n] for n in neighbours) / len(neighbours) if neighbours else rows[code]


def threaded(gates: Gates) -> tuple[dict[str, list[str]], dict[tuple[str, str], tuple[str, ...]]]:
    """Gates in which every line leads to the next column: longer lines go through stand-ins of their own.

    Also given: for each line, from gate to skill, the stand-ins it goes through. A stand-in's name has a blank, which
    no skill's code has.
    """
    column = {code: place.column for code, place in places(gates).items()}
    made: dict[str, list[str]] = {code: [] for code in gates}
    through: dict[tuple[str, str], tuple[str, ...]] = {}
    for code, before in gates.items():
        for gate in before:
            names = tuple(f"{gate} {code} {n}" for n in range(column[gate] + 1, column[code]))
            for name, last in zip(names, (gate, *names), strict=False):
                made[name] = [last]
            made[code].append(names[-1] if names else gate)
            through[gate, code] = names
    return made, through


def direct(gates: Gates) -> dict[str, list[str]]:
    """The gates that are not already behind another gate of the same skill: what a picture has to draw."""
    behind: dict[str, frozenset[str]] = {}

    def of(code: str) -> frozenset[str]:
        if code not in behind:
            behind[code] = frozenset(gates[code]).union(*(of(gate) for gate in gates[code]))
        return behind[code]

    return {
        code: [gate for gate in before if not any(gate in of(other) for other in before)]
        for code, before in gates.items()
    }
