"""One demonstration laid out: its steps with what was seen, its outcome, whether it counted and what followed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from competency.fields import as_seconds
from competency.scoring import is_outside
from training.curriculum.sentences import fitted_words
from training.documents.record_words import Entry, RecordWords, reteach_of
from training.people.models import Caregiver
from training.records.models import Record


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What one observer saw of a step. mark: the result, or "outside" where a value breaks the limits."""

    mark: str
    value: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLine:
    number: int
    text: str
    critical: bool
    limits: str
    seen: Seen
    second: Seen | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Attempt:
    """A demonstration with the steps that were not alone, and what was agreed to teach again."""

    entry: Entry
    trouble: tuple[str, ...]
    reteach: str
    reteach_on: date | None


def attempt(words: RecordWords, record: Record) -> Attempt:
    return Attempt(
        entry=words.entry(record),
        trouble=tuple(_trouble(words, record)),
        reteach=reteach_of(record)[0],
        reteach_on=reteach_of(record)[1],
    )


def attempts(words: RecordWords, caregiver: Caregiver, skill: str) -> list[Attempt]:
    """Every demonstration of one skill by one caregiver through the day, newest first, voided ones among them."""
    found = [
        attempt(words, r)
        for r in words.picture.records
        if r.kind == "demonstration" and r.data["caregiver"] == caregiver.case_id and r.data["skill"] == skill
    ]
    found = [a for a in found if a.entry.on <= words.picture.day]
    return sorted(found, key=lambda a: (a.entry.on, a.entry.time, a.entry.number), reverse=True)


def _trouble(words: RecordWords, record: Record) -> Iterator[str]:
    for line in steps(words, record):
        if line.seen.mark not in ("independent", "not_applicable"):
            yield _("step %(number)s, %(text)s") % {"number": line.number, "text": line.text}


def steps(words: RecordWords, record: Record) -> list[StepLine]:
    """The steps that applied, in their edition's order, with the limits that held at that moment."""
    body = record.data
    memory = words.picture.history.known.scoring_facts
    facts = memory.facts(date.fromisoformat(body["on"]), as_seconds(body["time"]), record.recorded_at)
    edition = words.picture.file.rules.skills[body["skill"]].edition(body["edition"])
    texts = words.words.steps.get((body["skill"], body["edition"]), {})
    second = (body.get("second") or {}).get("results", {})
    found = []
    for number, published in enumerate(edition.steps if edition else (), start=1):
        if published.code not in body["results"]:
            continue
        step, text = published.fitted(facts), texts.get(published.code, {})
        limits = fitted_words(step.measure) if step.measure else ""
        unit = step.measure.unit if step.measure else ""
        found.append(
            StepLine(
                number=number,
                text=str(text.get("text", step.code)),
                critical=step.critical,
                limits=limits,
                seen=_seen(step, body["results"][step.code], unit),
                second=_seen(step, second[step.code], unit) if step.code in second else None,
            )
        )
    return found


def _seen(step: Any, seen: Any, unit: str) -> Seen:
    result, value = (seen["result"], seen.get("value")) if isinstance(seen, dict) else (seen, None)
    outside = value is not None and is_outside(step, float(value))
    shown = "" if value is None else f"{_plain(value)} {unit}"
    return Seen(mark="outside" if outside else result, value=shown)


def _plain(value: Any) -> str:
    return f"{Decimal(str(value)).normalize():f}"
