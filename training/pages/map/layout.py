"""Where each skill of a map stands: columns by how many gates come before, rows so that few lines cross."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Codes = Sequence[str]
Gates = Mapping[str, Codes]
"""For each skill, in the programme's order, the skills that must be signed off first. No circles."""

SWEEPS = 4
FEW = 3  # gates of a skill whose lines come one by one; more of them come together


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """column: counted from the left; row: from the top of its column; both from 0."""

    column: int
    row: int


def places(gates: Gates, column: Mapping[str, int] | None = None) -> dict[str, Place]:
    """A place for each skill. The same gates give the same places. column: of each, where it is settled already."""
    listed = _listed(gates, columns(gates) if column is None else column)
    rows = {code: number for found in listed for number, code in enumerate(found)}
    opens = _turned(gates)
    for sweep in range(SWEEPS):
        looks_at, order = (gates, listed) if sweep % 2 == 0 else (opens, listed[::-1])
        for found in order:
            found.sort(key=lambda code: _middle(code, looks_at[code], rows))
            rows |= {code: number for number, code in enumerate(found)}
    return {code: Place(column=c, row=r) for c, found in enumerate(listed) for r, code in enumerate(found)}


def columns(gates: Gates, most: int | None = None) -> dict[str, int]:
    """Each skill right of its furthest gate, in the first column that has room. most: how many one column takes.

    A skill that much waits for goes before others; skills in no gate at all fill what is left.
    """
    opens = _turned(gates)
    depth, tail = _lengths(gates), _lengths(opens)
    found: dict[str, int] = {}
    taken: dict[int, int] = {}
    for code in sorted(gates, key=lambda c: (not gates[c] and not opens[c], depth[c], -tail[c])):
        column = 1 + max((found[gate] for gate in gates[code]), default=-1)
        while most is not None and taken.get(column, 0) >= most:
            column += 1
        found[code] = column
        taken[column] = taken.get(column, 0) + 1
    return found


def _lengths(gates: Gates) -> dict[str, int]:
    """How many skills stand one after another before each."""
    found: dict[str, int] = {}

    def of(code: str) -> int:
        if code not in found:
            found[code] = 1 + max((of(gate) for gate in gates[code]), default=-1)
        return found[code]

    for code in gates:
        of(code)
    return found


def _listed(gates: Gates, column: Mapping[str, int]) -> list[list[str]]:
    """The columns from the left; skills in no gate at all stand last in theirs."""
    opens = _turned(gates)
    found: list[list[str]] = [[] for _ in range(1 + max(column.values(), default=-1))]
    for code in sorted(gates, key=lambda c: not gates[c] and not opens[c]):
        found[column[code]].append(code)
    return found


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


@dataclass(frozen=True, slots=True, kw_only=True)
class Threads:
    """Gates in which every line leads to the next column: longer lines go through stand-ins.

    One stand-in of a column serves all long lines of a gate; where many gates lead to one skill, all of that skill's.

    gates, column: of skills and stand-ins. through: for each line, from gate to skill, the stand-ins it goes through.
    A stand-in's name has a blank, which no skill's code has.
    """

    gates: Mapping[str, list[str]]
    column: Mapping[str, int]
    through: Mapping[tuple[str, str], tuple[str, ...]]


def threaded(gates: Gates, column: Mapping[str, int]) -> Threads:
    made: dict[str, list[str]] = {code: [] for code in gates}
    where = dict(column)
    through: dict[tuple[str, str], tuple[str, ...]] = {}
    for code, before in gates.items():
        for gate in before:
            between = range(column[gate] + 1, column[code])
            whose = f"to {code}" if len(before) > FEW else gate
            names = tuple(f"{whose} {n}" for n in between)
            where |= dict(zip(names, between, strict=True))
            for name, last in [*zip(names, (gate, *names), strict=False), (code, names[-1] if names else gate)]:
                if last not in made.setdefault(name, []):
                    made[name].append(last)
            through[gate, code] = names
    return Threads(gates=made, column=where, through=through)


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
