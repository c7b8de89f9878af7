"""Where a caregiver is in each skill at the end of any day, as spans (design 4.6)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Generic, TypeVar

from competency.course import AWAITING, CURRENT, LAPSED, LEARNING, Note, Phase
from competency.dates import LAST, ONE_DAY, edges
from competency.plan import Called, FamilyPlan
from competency.programme import Edition, Skill
from competency.sweep import Sweep


class Standing(StrEnum):
    NOT_REQUIRED = "not_required"
    NOT_STARTED = "not_started"
    IN_TRAINING = "in_training"
    AWAITING = "awaiting"
    SIGNED_OFF = "signed_off"
    HELD = "held"
    LAPSED = "lapsed"
    WITHDRAWN = "withdrawn"


V = TypeVar("V")


@dataclass(frozen=True, slots=True)
class Span(Generic[V]):
    """Something that is so from ``start`` through ``through``, both whole days; None is open."""

    value: V
    start: date
    through: date | None


class Line(Generic[V]):
    """Spans that touch, never overlap and differ from their neighbours."""

    __slots__ = ("_starts", "_values")

    def __init__(self, points: Iterable[tuple[date, V]]) -> None:
        """points: (day, what is so from that day on), days rising; a repeated value starts nothing new."""
        starts: list[date] = []
        values: list[V] = []
        for day, value in points:
            if not values or values[-1] != value:
                starts.append(day)
                values.append(value)
        self._starts, self._values = starts, values

    def __len__(self) -> int:
        return len(self._starts)

    def __iter__(self) -> Iterator[Span[V]]:
        for i, start in enumerate(self._starts):
            last = i + 1 == len(self._starts)
            yield Span(self._values[i], start, None if last else self._starts[i + 1] - ONE_DAY)

    @property
    def starts(self) -> Sequence[date]:
        return self._starts

    @property
    def points(self) -> Iterator[tuple[date, V]]:
        """Each day on which something else begins, with what is so from then on."""
        return zip(self._starts, self._values, strict=True)

    def on(self, day: date) -> V | None:
        """What is so at the end of ``day``; None before the first span."""
        i = bisect_right(self._starts, day)
        return self._values[i - 1] if i else None

    def span(self, day: date) -> Span[V] | None:
        """The span that contains ``day``."""
        i = bisect_right(self._starts, day) - 1
        if i < 0:
            return None
        last = i + 1 == len(self._starts)
        return Span(self._values[i], self._starts[i], None if last else self._starts[i + 1] - ONE_DAY)


_NOT_REQUIRED, _NOT_STARTED, _IN_TRAINING, _AWAITING, _SIGNED_OFF, _HELD, _LAPSED, _WITHDRAWN = Standing
_LEAVES_OPEN = (_SIGNED_OFF, _NOT_REQUIRED)


def standing_of(phase: Phase, *, attempted: bool, required: bool, unusable: bool) -> Standing:
    """The standing of a course in this phase. unusable: something makes a current skill unusable."""
    if not required:
        return _NOT_REQUIRED
    if phase is CURRENT:
        return _HELD if unusable else _SIGNED_OFF
    if phase is LEARNING:
        return _IN_TRAINING if attempted else _NOT_STARTED
    if phase is LAPSED:
        return _LAPSED
    return _AWAITING if phase is AWAITING else _WITHDRAWN


_SIGNED_AGAIN = frozenset({_SIGNED_OFF, _HELD})  # what is held has its sign-off


def regained_on(spans: Iterable[Span[Standing]], withdrawn_on: date, day: date) -> date | None:
    """From when through ``day`` a skill withdrawn on ``withdrawn_on`` was signed off again; None if it was not.

    spans: of the standing, days rising. On the withdrawal's own day the later of the two holds, as at the day's end.
    """
    for span in spans:
        if span.value in _SIGNED_AGAIN and (span.through is None or span.through >= withdrawn_on):
            since = max(span.start, withdrawn_on)
            return since if since <= day else None
    return None


class Standings:
    """One caregiver's lines of standings, each worked out once when first asked for."""

    def __init__(self, plan: FamilyPlan, sweep: Sweep) -> None:
        self._plan = plan
        self._sweep = sweep
        self._lines: dict[str, Line[Standing]] = {}
        self._parts: dict[tuple[str, int], Line[Standing]] = {}
        self._epochs = gate_epochs(plan)

    def line(self, skill: str) -> Line[Standing]:
        """The standings of ``skill`` from the care plan's first day on; empty without a care plan."""
        found = self._lines.get(skill)
        if found is None:
            if len(self._epochs) == 1:
                return self._part(skill, 0)
            parts = (self._part(skill, epoch) for epoch in range(len(self._epochs)))
            found = self._lines[skill] = Line(point for part in parts for point in part.points)
        return found

    def on(self, skill: str, day: date) -> Standing | None:
        return self.line(skill).on(day)

    def _part(self, skill: str, epoch: int) -> Line[Standing]:
        key = (skill, epoch)
        found = self._parts.get(key)
        if found is None:
            found = self._parts[key] = Line(self._points(self._plan.programme.skills[skill], epoch))
        return found

    def _points(self, skill: Skill, epoch: int) -> Iterator[tuple[date, Standing]]:
        start = self._epochs[epoch]
        end = self._epochs[epoch + 1] if epoch + 1 < len(self._epochs) else LAST
        gates = self._gates(skill, start)
        called, notes = self._plan.called(skill.code), self._sweep.courses[skill.code].notes
        days = {start, *self._edges(skill, epoch, gates)}
        now, note = NOT_CALLED, NOTHING_NOTED
        i = j = 0
        for day in sorted([day for day in days if start <= day < end]):
            while i < len(called) and called[i][0] <= day:
                now, i = called[i][1], i + 1
            while j < len(notes) and notes[j].day <= day:
                note, j = notes[j], j + 1
            unusable = note.phase is CURRENT and now.required and self._is_unusable(skill, epoch, note, now, day)
            yield day, standing_of(note.phase, attempted=note.attempted, required=now.required, unusable=unusable)

    def _gates(self, skill: Skill, day: date) -> list[str]:
        """The skills that hold this one when they are not signed off, by the edition in force on ``day``."""
        edition = skill.in_force(day)
        return [p.skill for p in edition.requires if not p.only_to_learn] if edition is not None else []

    def _edges(self, skill: Skill, epoch: int, gates: Iterable[str]) -> Iterator[date]:
        """Every day on which something the standing rests on may become another."""
        yield from [note.day for note in self._sweep.courses[skill.code].notes]
        yield from [day for day, _ in self._plan.called(skill.code)]
        yield from edges((h.on, h.through) for h in self._sweep.holds_of(skill.code))
        for gate in gates:
            yield from self._part(gate, epoch).starts

    def _is_unusable(self, skill: Skill, epoch: int, note: Note, now: Called, day: date) -> bool:
        if note.recheck or not now.authorised or now.edition is None or self._sweep.is_on_hold(skill.code, day):
            return True
        return any(
            self._part(p.skill, epoch).on(day) not in _LEAVES_OPEN for p in now.edition.requires if not p.only_to_learn
        )


NOT_CALLED = Called(required=False, authorised=True, edition=None)
NOTHING_NOTED = Note(date.min, LEARNING, attempted=False, recheck=False, changed=False)


def gate_epochs(plan: FamilyPlan) -> list[date]:
    """The care plan's first day, and every later day on which a skill's prerequisites change.

    Within an epoch the gates are one graph without a cycle. Empty without a care plan.
    """
    first = plan.first_day
    if first is None:
        return []
    days = {first}
    for skill in plan.programme.skills.values():
        before: Edition | None = None
        for edition in skill.editions:
            if edition.in_force_from > first and edition.requires != (before.requires if before else ()):
                days.add(edition.in_force_from)
            before = edition
    return sorted(days)
