"""One caregiver's way through one skill: passes, floors, rechecks, and the clock of the sign-off (design 4.4, 4.5).

A course is fed events in order. Each has a place in line, rising by one; floors and openings are such places.
What starts with a day (a lapse, a due recheck, the end of a wait) happens when the course is advanced to that day.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import NamedTuple

from competency.dates import LAST, Period, month_end, next_day
from competency.plan import EditionStarts, PlanChanges
from competency.programme import Change, Edition, Effect, Facts, Need, Standard
from competency.tally import Attempt, any_looks_at, is_met, tally


class Phase(StrEnum):
    LEARNING = "learning"
    AWAITING = "awaiting"
    CURRENT = "current"
    LAPSED = "lapsed"
    WITHDRAWN = "withdrawn"


# Looked up by these names: on Python 3.11 a member asked of its class costs ten times as much.
LEARNING, AWAITING, CURRENT, LAPSED, WITHDRAWN = Phase


class Cause(StrEnum):
    """Why a skill must be shown again."""

    RECORD = "record"
    CRITICAL = "critical"
    FACT = "fact"
    EDITION = "edition"
    REQUIRED_AGAIN = "required_again"


@dataclass(slots=True, eq=False)
class OpenRecheck:
    """opened: place in line; fact only with Cause.FACT, record only with RECORD and CRITICAL."""

    cause: Cause
    opened: int
    on: date
    fact: str | None = None
    record: str | None = None


@dataclass(slots=True, eq=False)
class PendingRecheck:
    """Opens at the start of ``opens_on`` unless what would close it has happened since ``since``."""

    cause: Cause
    since: int
    opens_on: date
    edition: int = 0
    fact: str | None = None


@dataclass(slots=True)
class Wait:
    """Signatures are missing. It keeps the standard under which the needs held."""

    standard: Standard
    completed: date
    last_day: date | None
    closes: list[OpenRecheck | PendingRecheck]


@dataclass(slots=True)
class Clock:
    """The last day of a sign-off; ``original`` and ``period`` where the day was counted from a date."""

    last_day: date | None = None
    original: date | None = None
    period: Period | None = None

    @classmethod
    def counted(cls, day: date, period: Period | None, *, to_month_end: bool) -> Clock:
        if period is None:
            return cls()
        last = period.after(day)
        moved = to_month_end and month_end(last) != last
        return cls(month_end(last)) if moved else cls(last, day, period)

    def plus(self, grace: Period | None) -> date | None:
        """The last day of grace, counted from the original date where months could clip twice. None: no clock."""
        if self.last_day is None:
            return None
        if grace is None:
            return self.last_day
        if self.original is not None and self.period is not None and not self.period.days:
            return self.period.then(grace).after(self.original)
        return grace.after(self.last_day)

    @property
    def end(self) -> date:
        return self.last_day or LAST


class Note(NamedTuple):
    """How a course stands from the end of ``day`` on. changed: a changed fact asks for a recheck, now or by a day."""

    day: date
    phase: Phase
    attempted: bool
    recheck: bool
    changed: bool


@dataclass(slots=True)
class Course:
    """All that the rules remember about one caregiver and one skill."""

    skill: str
    edition: Edition | None = None
    required: bool = False
    phase: Phase = LEARNING
    clock: Clock = field(default_factory=Clock)
    wait: Wait | None = None
    passes: list[Attempt] = field(default_factory=list)
    failures: list[Attempt] = field(default_factory=list)
    open: list[OpenRecheck] = field(default_factory=list)
    pending: list[PendingRecheck] = field(default_factory=list)
    signatures: list[tuple[str, date]] = field(default_factory=list)
    notes: list[Note] = field(default_factory=list)
    floor: int = 0
    renewal_floor: int = 0
    hard_floor: int = 0
    attempted: bool = False
    ever_signed: bool = False
    seen_plan: bool = False
    been_required: bool = False
    since: date | None = None
    withdrawn_on: date | None = None
    latest: date | None = None
    latest_facts: Facts | None = None
    due: date = LAST
    deeds: list[str] = field(default_factory=list)

    # What begins with a day ------------------------------------------------------------------------------

    def advance(self, day: date, place: int) -> None:
        """Let everything that starts with a day up to ``day`` happen before the event at ``place``."""
        while self.due <= day and self.due != LAST:
            today = self.due
            if self.wait is not None and self.wait.last_day is not None and next_day(self.wait.last_day) <= today:
                self._end_wait(place - 1)
            if self.phase is CURRENT and next_day(self.clock.end) <= today:
                self.phase = LAPSED
                self.floor = place - 1
            for pending in [p for p in self.pending if p.opens_on <= today]:
                self.pending.remove(pending)
                self.open.append(OpenRecheck(pending.cause, place - 1, today, pending.fact))
            self._settle(today)

    def _settle(self, day: date) -> None:
        """Write down how the course stands, and when something next starts by itself."""
        due = LAST
        if self.phase is CURRENT:
            due = next_day(self.clock.end)
        elif self.wait is not None and self.wait.last_day is not None:
            due = next_day(self.wait.last_day)
        for pending in self.pending:
            due = min(due, pending.opens_on)
        self.due = due
        notes, recheck = self.notes, bool(self.open)
        changed = (recheck or bool(self.pending)) and self._follows_a_change()
        if notes:
            last = notes[-1]
            if (
                last.phase is self.phase
                and last.attempted == self.attempted
                and last.recheck == recheck
                and last.changed == changed
            ):
                return
            if last.day == day:
                notes.pop()
        notes.append(Note(day, self.phase, self.attempted, recheck, changed))

    def _follows_a_change(self) -> bool:
        return any(r.cause is Cause.FACT for r in self.open) or any(p.cause is Cause.FACT for p in self.pending)

    # The plan ---------------------------------------------------------------------------------------------

    def edition_starts(self, event: EditionStarts, place: int) -> None:
        day = event.moment[0]
        self.advance(day, place)
        self.edition = event.edition
        older = event.edition.older
        if not event.is_first:
            if older.effect is Effect.RECHECK:
                self._open(Cause.EDITION, place, day)
            elif older.effect is Effect.RECHECK_BY and older.by is not None:
                self.pending.append(PendingRecheck(Cause.EDITION, place, next_day(older.by), event.edition.number))
        self._require(event.is_required, place, day)
        self._settle(day)

    def plan_changes(self, event: PlanChanges, place: int) -> None:
        day = event.moment[0]
        self.advance(day, place)
        for fact, value in event.changed.items():
            if self.latest_facts is not None and self.latest_facts.get(fact) == value:
                self.open = [r for r in self.open if r.fact != fact]
                self.pending = [p for p in self.pending if p.fact != fact]
            elif self.edition is not None and fact in self.edition.on_change:
                self._change(fact, self.edition.on_change[fact], place, day)
        self.seen_plan = True
        self._require(event.required.get(self.skill, False), place, day)
        self._settle(day)

    def _change(self, fact: str, change: Change, place: int, day: date) -> None:
        if change.effect is Effect.RECHECK_BY and change.period is not None:
            opens = next_day(change.period.after(day))
            self.pending.append(PendingRecheck(Cause.FACT, place, opens, 0, fact))
            return
        if change.effect is Effect.RESTART:
            self._end_wait(place)
            self.hard_floor = place
        self._open(Cause.FACT, place, day, fact=fact)

    def _require(self, required: bool, place: int, day: date) -> None:
        if self.seen_plan:
            if required and not self.required and self.been_required:
                self._open(Cause.REQUIRED_AGAIN, place, day)
            self.been_required = self.been_required or required
        self.required = required

    def _open(self, cause: Cause, place: int, day: date, *, fact: str | None = None, record: str | None = None) -> None:
        self.open.append(OpenRecheck(cause, place, day, fact, record))
        self.deeds.append("opened_recheck")

    # Records ----------------------------------------------------------------------------------------------

    def call_recheck(self, record: str, day: date, place: int) -> None:
        self.advance(day, place)
        self._open(Cause.RECORD, place, day, record=record)
        self._settle(day)

    def withdraw(self, day: date, place: int) -> None:
        self.advance(day, place)
        self.wait = None
        self.phase = WITHDRAWN
        self.withdrawn_on = day
        self.clock = Clock()
        self.hard_floor = place
        self._settle(day)

    def certify(self, day: date, through: date | None, place: int, stated: Facts) -> None:
        """A card: current through its own last day, or the later one of a card held already."""
        self.advance(day, place)
        if self.phase is CURRENT and self.clock.end >= (through or LAST):
            through = self.clock.last_day
        self._become_current(day, Clock(through), day, stated, place)
        self._close_all()
        self._settle(day)

    def accept(self, day: date, last_day: date | None, place: int, stated: Facts) -> None:
        """Another organisation's sign-off: through the earlier of its last day and what a renewal would give."""
        self.advance(day, place)
        clock = Clock(last_day)
        if self.edition is not None:
            standard = self.edition.standard
            renewed = Clock.counted(day, standard.valid_for, to_month_end=standard.to_month_end)
            clock = renewed if renewed.end < clock.end else clock
        self._become_current(day, clock, day, stated, place)
        self._close_all()
        self._settle(day)

    def sign(self, by: str, day: date, place: int, stated: Facts) -> None:
        self.advance(day, place)
        self.signatures.append((by, day))
        if self.wait is not None and self._signed_since(self.wait.completed) >= self.wait.standard.signatures:
            self._sign_off(day, place)
        self._settle(day)

    def _signed_since(self, completed: date) -> set[str]:
        return {by for by, day in self.signatures if day >= completed}

    def attempt(self, day: date, place: int) -> None:
        """Any attempt at all, practice too."""
        self.advance(day, place)
        if not self.attempted:
            self.attempted = True
            self._settle(day)

    def failed(self, attempt: Attempt, *, critical: bool) -> None:
        """A critical or a not passed assessment."""
        place, day = attempt.place_in_line, attempt.on
        self.failures.append(attempt)
        wait = self.wait
        ends_it = wait is not None and (critical or wait.standard.restart_after_failure)
        if wait is not None and ends_it and any_looks_at(wait.standard.needs, attempt):
            self._end_wait(place)
        if critical and self.ever_signed and self.edition is not None:
            standard = self.edition.standard
            if any_looks_at(standard.needs, attempt) or any_looks_at(standard.renewal, attempt):
                self._open(Cause.CRITICAL, place, day, record=attempt.id)
        self._settle(day)

    def passed(self, attempt: Attempt, stated: Facts) -> None:
        """A pass that counts: it may close rechecks, renew, or complete a sign-off, in this order."""
        self.passes.append(attempt)
        if self.edition is None:
            return
        standard = self.edition.standard
        day, place = attempt.on, attempt.place_in_line
        was_pending = bool(self.pending)
        may_renew = self._may_renew(day, standard)
        if (may_renew or self.open or self.pending) and any_looks_at(standard.renewal, attempt):
            closed = self._try_rechecks(standard)
            if may_renew and (
                closed or self._holds(standard.renewal, max(self.renewal_floor, self.hard_floor), standard)
            ):
                self._renew(day, place, standard, stated)
        if (
            attempt.full
            and self.phase not in (CURRENT, AWAITING)
            and any_looks_at(standard.needs, attempt)
            and self._holds(standard.needs, max(self.floor, self.hard_floor), standard, full=True)
        ):
            self._complete(day, place, standard, stated)
        if self.deeds or was_pending:
            self._settle(day)

    # How needs are tried ----------------------------------------------------------------------------------

    def _holds(
        self, needs: Sequence[Need], after: int, standard: Standard, *, full: bool = False, edition: int = 0
    ) -> bool:
        restart, passes, failures = standard.restart_after_failure, self.passes, self.failures
        for need in needs:
            if len(passes) < need.passes:
                return False
            found = tally(need, passes, failures, after=after, restart=restart, full=full, edition=edition)
            if not is_met(need, found):
                return False
        return True

    def _try_rechecks(self, standard: Standard) -> bool:
        """Close what the renewal's needs close; True when an open one closed."""
        if not (self.open or self.pending):
            return False
        closed = [r for r in self.open if self._holds(standard.renewal, max(r.opened, self.hard_floor), standard)]
        for recheck in closed:
            self.open.remove(recheck)
            self.deeds.append("closed_recheck")
        self.pending = [
            p
            for p in self.pending
            if not self._holds(standard.renewal, max(p.since, self.hard_floor), standard, edition=p.edition)
        ]
        return bool(closed)

    def _may_renew(self, day: date, standard: Standard) -> bool:
        if self.phase is not LAPSED:
            return self.phase is CURRENT
        grace_end = self.clock.plus(standard.grace)
        return grace_end is not None and day <= grace_end

    def _renew(self, day: date, place: int, standard: Standard, stated: Facts) -> None:
        clock = Clock.counted(day, standard.valid_for, to_month_end=standard.to_month_end)
        if clock.end >= self.clock.end:  # the same last day too: grace is counted from this pass now
            self.clock = clock
        self.phase = CURRENT
        self._floors_move(place)
        self.latest, self.latest_facts = day, stated
        self.deeds.append("renewed")

    def _complete(self, day: date, place: int, standard: Standard, stated: Facts) -> None:
        """The needs hold: sign off, or wait for the signatures asked for."""
        after = max(self.floor, self.hard_floor)
        closes: list[OpenRecheck | PendingRecheck] = [
            r for r in self.open if self._holds(standard.needs, max(r.opened, after), standard, full=True)
        ]
        closes += [
            p
            for p in self.pending
            if self._holds(standard.needs, max(p.since, after), standard, full=True, edition=p.edition)
        ]
        period = standard.first_valid_for or standard.valid_for
        clock = Clock.counted(day, period, to_month_end=standard.to_month_end)
        self.wait = Wait(standard, day, clock.last_day, closes)
        self.clock = clock
        self.latest, self.latest_facts = day, stated
        self.phase = AWAITING
        if self._signed_since(day) >= standard.signatures:
            self._sign_off(day, place)
        else:
            self.deeds.append("awaits_signatures")

    def _sign_off(self, day: date, place: int) -> None:
        wait = self.wait
        assert wait is not None
        self.open = [r for r in self.open if r not in wait.closes]
        self.pending = [p for p in self.pending if p not in wait.closes]
        self.wait = None
        self._floors_move(place)
        self.phase = CURRENT
        self.since = day
        self.ever_signed = True
        self.deeds.append("signed_off")

    def _become_current(self, day: date, clock: Clock, latest: date, stated: Facts, place: int) -> None:
        self.wait = None
        self.clock = clock
        self.phase = CURRENT
        self.since = day
        self.ever_signed = True
        self.latest, self.latest_facts = latest, stated
        self._floors_move(place)

    def _floors_move(self, place: int) -> None:
        """Used up; what no open or pending recheck can look at either is forgotten."""
        self.floor = self.renewal_floor = place
        if not (self.open or self.pending):
            self.passes.clear()
            self.failures.clear()
            return
        low = min([place, *(r.opened for r in self.open), *(p.since for p in self.pending)])
        self.passes = [p for p in self.passes if p.place_in_line > low]
        self.failures = [f for f in self.failures if f.place_in_line > low]

    def _close_all(self) -> None:
        self.open.clear()
        self.pending.clear()

    def _end_wait(self, place: int) -> None:
        if self.wait is None:
            return
        self.wait = None
        self.phase = LEARNING
        self.clock = Clock()
        self.hard_floor = place
        self.deeds.append("wait_ended")
