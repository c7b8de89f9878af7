"""Where a caregiver is in each skill at the end of any day, as spans (design 4.6)."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Generic, TypeVar

from competency.course import Note, Phase
from competency.dates import LAST, ONE_DAY, next_day
from competency.plan import FamilyPlan
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
        self._starts: list[date] = []
        self._values: list[V] = []
        for day, value in points:
            if not self._values or self._values[-1] != value:
                self._starts.append(day)
                self._values.append(value)

    def __len__(self) -> int:
        return len(self._starts)

    def __iter__(self) -> Iterator[Span[V]]:
        for i, start in enumerate(self._starts):
            last = i + 1 == len(self._starts)
            yield Span(self._values[i], start, None if last else self._starts[i + 1] - ONE_DAY)

    @property
    def starts(self) -> Sequence[date]:
        return self._starts

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


_BY_PHASE = {
    Phase.AWAITING: Standing.AWAITING,
    Phase.LAPSED: Standing.LAPSED,
    Phase.WITHDRAWN: Standing.WITHDRAWN,
}


def standing_of(phase: Phase, *, attempted: bool, required: bool, unusable: bool) -> Standing:
    """The standing of a course in this phase. unusable: something makes a current skill unusable."""
    if not required:
        return Standing.NOT_REQUIRED
    if phase is Phase.CURRENT:
        return Standing.HELD if unusable else Standing.SIGNED_OFF
    if phase is Phase.LEARNING:
        return Standing.IN_TRAINING if attempted else Standing.NOT_STARTED
    return _BY_PHASE[phase]


def edges(intervals: Iterable[tuple[date, date | None]]) -> Iterator[date]:
    """The days on which any of these whole-day intervals begins, or is over."""
    for start, through in intervals:
        yield start
        if through is not None and through != LAST:
            yield next_day(through)


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
            points = ((span.start, span.value) for part in parts for span in part)
            found = self._lines[skill] = Line(points)
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
        days = {start}
        days.update(day for day in self._edges(skill, epoch) if start < day < end)
        notes = self._sweep.courses[skill.code].notes
        for day in sorted(days):
            yield day, self._standing(skill, epoch, note_on(notes, day), day)

    def _edges(self, skill: Skill, epoch: int) -> Iterator[date]:
        plan, sweep = self._plan, self._sweep
        yield from (note.day for note in sweep.courses[skill.code].notes)
        yield from (day for day, _ in plan.required[skill.code])
        yield from (e.in_force_from for e in skill.editions)
        for holds in (sweep.holds.get(skill.code, ()), sweep.holds.get(None, ())):
            yield from edges((h.on, h.through) for h in holds)
        if any(e.needs_authorisation for e in skill.editions):
            yield from edges(plan.authorisations(skill.code))
        edition = skill.in_force(self._epochs[epoch])
        for prerequisite in edition.requires if edition is not None else ():
            if not prerequisite.only_to_learn:
                yield from self._part(prerequisite.skill, epoch).starts

    def _standing(self, skill: Skill, epoch: int, note: Note | None, day: date) -> Standing:
        required = self._plan.is_required(skill.code, day)
        if note is None:
            return standing_of(Phase.LEARNING, attempted=False, required=required, unusable=False)
        unusable = required and note.phase is Phase.CURRENT and self._is_unusable(skill, epoch, note, day)
        return standing_of(note.phase, attempted=note.attempted, required=required, unusable=unusable)

    def _is_unusable(self, skill: Skill, epoch: int, note: Note, day: date) -> bool:
        edition = skill.in_force(day)
        if note.recheck or self._sweep.holds_on(skill.code, day) or edition is None:
            return True
        if edition.needs_authorisation and not self._plan.is_authorised(skill.code, day):
            return True
        return any(
            self._part(p.skill, epoch).on(day) not in (Standing.SIGNED_OFF, Standing.NOT_REQUIRED)
            for p in edition.requires
            if not p.only_to_learn
        )


def note_on(notes: Sequence[Note], day: date) -> Note | None:
    found = None
    for note in notes:
        if note.day > day:
            break
        found = note
    return found


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
