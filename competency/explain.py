"""A readable account of one caregiver and one skill through time, in plain text.

It decides nothing: standings, outcomes, deeds and reasons come from the rules, their words from `competency.words`.
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from competency.answer import instant_text
from competency.dates import next_day
from competency.history import FamilyHistory
from competency.plan import EditionStarts, PlanChanges
from competency.reasons import Reason, became, reasons
from competency.records import (
    Acceptance,
    Case,
    Certificate,
    Demonstration,
    Hold,
    Override,
    RecheckCall,
    Record,
    Resolution,
    Signature,
    Withdrawal,
)
from competency.scoring import Outcome
from competency.sweep import Judged, Sweep
from competency.words import Register, say

WIDTH = 100
_DEEDS = {
    "signed_off": "completed the sign-off",
    "awaits_signatures": "completed what is to be shown; signatures are awaited",
    "renewed": "renewed the sign-off",
    "closed_recheck": "closed a recheck",
    "opened_recheck": "opened a recheck",
    "wait_ended": "ended the wait for signatures; it starts again",
}
_OF_ATTEMPTS = frozenset({"passed", "did_not_count", *(outcome.value for outcome in Outcome)})


class UnknownNameError(LookupError):
    """A caregiver or a skill that is not in the case."""

    def __str__(self) -> str:
        return str(self.args[0])


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that happened. seconds -1 starts the day; lines: what it was, then what became of it."""

    day: date
    seconds: int
    id: str
    lines: tuple[str, ...]


def explain(case: Case, caregiver: str, skill: str) -> str:
    """Tell how ``caregiver`` came to stand where they stand in ``skill``. Raises UnknownNameError."""
    _known("caregiver", caregiver, (c.id for c in case.caregivers))
    _known("skill", skill, case.programme.skills)
    history = FamilyHistory(case, case.known_at)
    known = f"as known at {instant_text(case.known_at)}" if case.known_at else "with everything ever recorded"
    lines = [f"{caregiver}: {skill}, on {_day(case.on)}, {known}", ""]
    lines += ["Through time", *_spans(history, caregiver, skill), ""]
    lines += ["What happened", *_told(history, _events(history, caregiver, skill), caregiver, skill), ""]
    lines += [f"On {_day(case.on)}", *_on_the_day(history, case.on, caregiver, skill)]
    left_out = list(_left_out(case, history, caregiver, skill))
    if left_out:
        lines += ["", "Left out", *left_out]
    return "\n".join(lines)


def _known(what: str, name: str, there: Iterable[str]) -> None:
    names = sorted(there)
    if name not in names:
        raise UnknownNameError(f'"{name}" is no {what} of this case; there are: {", ".join(names) or "none"}')


# Through time ---------------------------------------------------------------------------------------------


def _spans(history: FamilyHistory, caregiver: str, skill: str) -> Iterator[str]:
    line = history.line(caregiver, skill)
    if not len(line):
        yield "  There is no care plan, so there is no standing."
    for span in line:
        through = _day(span.through) if span.through else "on"
        yield f"  {_day(span.start):>17} - {through:<17}  {_spaced(span.value.value)}"


def _told(history: FamilyHistory, events: list[Event], caregiver: str, skill: str) -> Iterator[str]:
    """Every day on which something happened, and how the skill stood at its end."""
    if not events:
        yield "  Nothing has been recorded."
    for day in sorted({event.day for event in events}):
        yield f"  {_day(day)}"
        for event in (e for e in events if e.day == day):
            time = f"{event.seconds // 3600:02}:{event.seconds // 60 % 60:02}" if event.seconds >= 0 else "     "
            yield from _wrapped(event.lines[0], f"    {time}  ", " " * 11)
            for line in event.lines[1:]:
                yield from _wrapped(line, " " * 13)
        yield from _at_the_end(history, day, caregiver, skill)


def _at_the_end(history: FamilyHistory, day: date, caregiver: str, skill: str) -> Iterator[str]:
    sweep = history.at_end_of(day, caregiver)
    standing = history.line(caregiver, skill).on(day)
    yield f"    then:  {_spaced(standing.value) if standing else 'no standing yet'}"
    for reason in reasons(history, day, sweep, skill):
        if reason.code not in _OF_ATTEMPTS:
            yield from _reason(reason, " " * 11)


def _on_the_day(history: FamilyHistory, day: date, caregiver: str, skill: str) -> Iterator[str]:
    sweep = history.at_end_of(day, caregiver)
    found = history.skill_on(day, sweep, skill)
    yield f"  {_spaced(found.span.value.value) if found.span else 'no standing yet'}"
    if found.last_day is not None:
        yield f"  Last day: {_day(found.last_day)}."
    yield f"  Asked of this caregiver: {_yes(found.asked)}."
    yield f"  May be practised on the patient, under a clinician's eye: {_yes(found.may_practise)}."
    for reason in reasons(history, day, sweep, skill):
        yield from _reason(reason, "  ")


def _reason(reason: Reason, indent: str) -> list[str]:
    mark = {True: "+ ", False: "- ", None: "  "}[reason.met]
    return _wrapped(say(reason, Register.CLINICIAN, day=_day), indent + mark, indent + "  ")


# What happened --------------------------------------------------------------------------------------------


def _events(history: FamilyHistory, caregiver: str, skill: str) -> list[Event]:
    """What bears on this skill, in order: the plan first, then records."""
    sweep = history.sweeps[caregiver]
    found = [*_of_the_plan(history, skill)]
    for record in history.caregivers[caregiver].records:
        if isinstance(record, Demonstration) and record.skill == skill:
            found.append(_attempt(history, sweep, record))
        elif not isinstance(record, Demonstration | Override | Resolution) and record.skill in (skill, None):
            found.append(Event(record.on, record.seconds, record.id, (f"{record.id}: {_said(record)}",)))
    return sorted(found, key=lambda e: (e.day, e.seconds, e.id))


def _of_the_plan(history: FamilyHistory, skill: str) -> Iterator[Event]:
    for event in history.plan.events:
        day, seconds, _, id_ = event.moment
        if isinstance(event, EditionStarts) and event.skill == skill:
            yield Event(day, -1, "", (f"edition {event.edition.number} of the checklist comes into force",))
        elif isinstance(event, PlanChanges) and (event.is_first or event.changed):
            facts = ", ".join(f"{f} {_value(v)}" for f, v in sorted((event.changed or event.stated).items()))
            what = "the care plan begins" if event.is_first else "the care plan changes"
            yield Event(day, max(seconds, -1), id_, (f"{id_}: {what}: {facts}",))
    for word in history.known.authorisations:
        if word.skill == skill:
            end = f"through {_day(word.through)}" if word.through else "without a last day"
            yield Event(word.from_day, -1, word.id, (f"{word.id}: the prescriber authorises it, {end}",))
            if word.through:
                yield Event(next_day(word.through), -1, word.id, (f"{word.id}: this authorisation is over",))


def _said(record: Record) -> str:
    """A record that is no attempt, in words."""
    through = getattr(record, "through", None) or getattr(record, "last_day", None)
    end = f"through {_day(through)}" if through else "without a last day"
    match record:
        case Certificate():
            return f"a card issued elsewhere, current {end}"
        case Acceptance():
            return f"the sign-off of {record.organisation} is taken over, {end} at the latest"
        case Signature():
            return f"the {record.by} signs"
        case Hold():
            return f"on hold {end}" + (f": {record.reason}" if record.reason else "")
        case RecheckCall():
            return f"to be shown again: {record.reason}"
        case Withdrawal():
            return f"withdrawn: {record.reason}; meanwhile: {record.cover}"
    raise TypeError(type(record).__name__)


def _attempt(history: FamilyHistory, sweep: Sweep, attempt: Demonstration) -> Event:
    began = f", begun on {_day(attempt.began)}" if attempt.began else ""
    first = (
        f"{attempt.id}: {attempt.purpose} ({attempt.setting}, {attempt.role}, {_spaced(attempt.mode)},"
        f" {attempt.place}), edition {attempt.edition}, watched by {' and '.join(attempt.observers)}{began}"
    )
    asides = [
        f"{r.id}: {_aside(r)}"
        for r in sorted(
            (r for r in sweep.caregiver.records if isinstance(r, Resolution | Override) and r.record == attempt.id),
            key=lambda r: (r.recorded_at, r.id),
        )
    ]
    judged = sweep.judged.get(attempt.id)
    if judged is None:
        followed = [f"Edition {attempt.edition} had not been published at that instant; it moves nothing."]
    else:
        followed = list(_became(history, judged))
    return Event(attempt.on, attempt.seconds, attempt.id, (first, *asides, *followed))


def _aside(record: Resolution | Override) -> str:
    if isinstance(record, Resolution):
        return f"resolved on {_day(record.recorded_at.date())}: the {record.take} observer's outcome stands"
    return f"let count by a supervisor on {_day(record.recorded_at.date())}: {record.reason}"


def _became(history: FamilyHistory, judged: Judged) -> Iterator[str]:
    """The outcome, whether it counts or why not, and what it brought about."""
    if judged.kept_out and not judged.full:
        yield f"Outcome: {_spaced(judged.outcome.value)}."
    for reason in became(history, judged, counts=judged.full):
        yield say(reason, Register.CLINICIAN, day=_day)
    if judged.counts and not judged.full:
        yield "It counts toward renewals and rechecks."
    for deed in judged.deeds:
        yield f"It {_DEEDS[deed]}."


def _left_out(case: Case, history: FamilyHistory, caregiver: str, skill: str) -> Iterator[str]:
    """The records of this skill that are voided, or were recorded later than the instant asked about."""
    kept = {r.id for r in history.caregivers[caregiver].records}
    why = {v.record: f"voided on {_day(v.recorded_at.date())}: {v.reason}" for v in reversed(case.voids)}
    records = {r.id: r for c in case.caregivers if c.id == caregiver for r in c.records}
    for record in records.values():
        about = records[record.record] if isinstance(record, Resolution | Override) else record
        if record.id not in kept and getattr(about, "skill", None) in (skill, None):
            late = case.known_at is not None and record.recorded_at > case.known_at
            reason = "recorded later" if late else why[record.id]
            yield from _wrapped(f"{record.id}: {reason}", "  ", "    ")


# Words ----------------------------------------------------------------------------------------------------


def _day(day: date) -> str:
    return f"{day.day} {day:%B} {day.year}"


def _spaced(code: str) -> str:
    return code.replace("_", " ")


def _value(key: str) -> str:
    """A fact's value out of what `fact_key` wrote."""
    kind, _, text = key.partition(":")
    return text.removesuffix(".0") if kind == "n" else text


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"


def _wrapped(text: str, indent: str, more: str | None = None) -> list[str]:
    return textwrap.wrap(
        text, WIDTH, initial_indent=indent, subsequent_indent=more or indent + "  ", break_on_hyphens=False
    ) or [indent]
