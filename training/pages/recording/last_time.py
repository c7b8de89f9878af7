"""Last time's trouble with a skill, as it is shown before the question it concerns."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from competency.records import Demonstration
from competency.scoring import troubles
from training.people.models import Caregiver
from training.standing.drafts import Row, value_text
from training.standing.questions import FamilyOn, step_number


@dataclass(frozen=True, slots=True, kw_only=True)
class Trouble:
    """One step that was not done alone. shown: its result as a mark shows it."""

    code: str
    number: int
    text: str
    shown: str
    critical: bool
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class LastTime:
    """The newest attempt that asked for more: what troubled, and what was agreed."""

    on: date
    is_practice: bool
    stopped: str | None
    troubles: tuple[Trouble, ...]
    line: str
    line_on: date | None

    def at(self, row: Row) -> Trouble | None:
        """The trouble at this very step; a step of another edition is the same only if it has the same words."""
        return next((t for t in self.troubles if (t.code, t.text) == (row.step.code, row.text)), None)


def last_time(picture: FamilyOn, caregiver: Caregiver, skill: str) -> LastTime | None:
    record = picture.last_trouble(caregiver, skill)
    judged = picture.judged(record) if record else None
    if record is None or judged is None:
        return None
    reteach = record.data.get("reteach") or {}
    return LastTime(
        on=judged.attempt.on,
        is_practice="practice" in judged.kept_out,
        stopped=judged.attempt.stopped,
        troubles=tuple(_troubles(picture, skill, judged.attempt)),
        line=reteach.get("line", ""),
        line_on=date.fromisoformat(reteach["on"]) if reteach.get("on") else None,
    )


def _troubles(picture: FamilyOn, skill: str, attempt: Demonstration) -> Iterator[Trouble]:
    known = picture.history.known
    edition = known.programme.skills[skill].edition(attempt.edition)
    steps = edition.steps_for(attempt.role, known.scoring_facts.facts_for(attempt)) if edition else ()
    for step, result, outside in troubles(steps, attempt.results):
        unit = f" {step.measure.unit}" if step.measure else ""
        value = value_text(attempt.results[step.code].value)
        yield Trouble(
            code=step.code,
            number=step_number(picture.words, skill, attempt.edition, step.code),
            text=picture.words.step(skill, attempt.edition, step.code)["text"],
            shown="outside" if outside and result == "independent" else result,
            critical=step.critical,
            value=value and f"{value}{unit}",
        )
