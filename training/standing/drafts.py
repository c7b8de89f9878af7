"""A demonstration under way: started, answered step by step, stopped, thrown away. `competency` judges it, not this.

A draft's ``data`` is the record's body so far, as plain JSON: a measured value stays the text that was typed
until `as_written` turns it into a number for the record. Besides what the rules read it may hold ``stop`` (by, why),
``reteach`` (line, on), ``note``, ``teach_back``, ``interpreter`` (kind, language) and ``feels`` (ready, not_yet).
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.db import transaction
from django.db.models import Q

from competency.fields import as_seconds
from competency.history import FamilyHistory
from competency.programme import Edition, Step
from competency.records import Result, Results, Seen, Stopped, Take
from competency.scoring import Outcome, is_outside, outcome_of, troubles
from training.curriculum.words import Words
from training.people.models import Caregiver, Member
from training.standing.models import Draft

STOPPED_BY = ("observer", "second", "caregiver", "patient", "other")
INTERPRETERS = ("none_needed", "in_person", "video", "phone", "family_member")
FEELS = ("ready", "not_yet")
VALUELESS = frozenset({Result.NOT_SEEN.value, Result.NOT_APPLICABLE.value})
_NUMBER = re.compile(r"[-−]?\d{1,6}(?:[.,]\d{1,2})?")


class NotYourDraftError(Exception):
    """The intent is somebody else's draft, or one about another caregiver. Nothing was changed."""


class NoSecondError(Exception):
    """Nobody else is named as having watched: there are no results of a second observer to change."""


class NoNumberError(ValueError):
    """A typed value that is no number, or could be read as two."""


def number_typed(text: str) -> str:
    """A measured value as a draft keeps it: 12 or 7.5. A comma is a point; 1,000 is refused, for it may be a thousand.

    Raises NoNumberError.
    """
    text = text.strip()
    if not _NUMBER.fullmatch(text):
        raise NoNumberError(text)
    return str(Decimal(text.replace(",", ".").replace("−", "-")))


def as_written(results: Mapping[str, Any]) -> dict[str, Any]:
    """A draft's results as the record has them: typed values become numbers, written one way."""
    return {
        code: {**seen, "value": _written_number(seen["value"])} if isinstance(seen, dict) else seen
        for code, seen in results.items()
    }


def _written_number(text: str) -> int | Decimal:
    value = Decimal(text)
    return int(value) if value == value.to_integral_value() else value


def observes_themself(member: Member, caregiver: Caregiver) -> bool:
    """Whether the account of this member is the caregiver's own."""
    return caregiver.user_id is not None and caregiver.user_id == member.user_id


def may_watch_too(lead: Member, caregiver: Caregiver, day: date) -> list[Member]:
    """The members who may be second observer on that day: not the lead, not the caregiver."""
    rows = Member.objects.visible_to(lead).filter(from_day__lte=day).exclude(pk=lead.pk)
    rows = rows.filter(Q(through=None) | Q(through__gte=day)).select_related("user")
    return [m for m in rows if not observes_themself(m, caregiver)]


# Changing a draft -----------------------------------------------------------------------------------------


def start(*, author: Member, caregiver: Caregiver, data: Mapping[str, Any], intent: uuid.UUID, at: datetime) -> Draft:
    """Begin a draft. The same intent again gives the one that is there, which takes a new choice before its first step.

    Its address is its intent, so that the address of a signed draft can still lead to its record.
    Raises NotYourDraftError.
    """
    draft, is_new = Draft.objects.get_or_create(
        intent=intent,
        defaults={
            "public_id": intent,
            "author": author,
            "caregiver": caregiver,
            "data": dict(data),
            "started_at": at,
            "changed_at": at,
        },
    )
    if (draft.author_id, draft.caregiver_id, draft.data["skill"]) != (author.pk, caregiver.pk, data["skill"]):
        raise NotYourDraftError(intent)
    if not is_new and not has_begun(draft.data):
        with _changing(draft, at) as kept:
            if not has_begun(kept):  # a step may have been answered since
                kept.update(data)
    return draft


def has_begun(data: Mapping[str, Any]) -> bool:
    """Whether any step has a result, or the attempt was stopped."""
    return bool(data["results"] or data["stopped"] or (data["second"] and data["second"]["results"]))


def beginning(
    *,
    purpose: str,
    on: date,
    time: str,
    skill: str,
    edition: int,
    setting: str,
    role: str,
    mode: str,
    place: str,
    observer: Member,
    began: date | None,
    second: Member | None = None,
) -> dict[str, Any]:
    """The body of a demonstration before its first step."""
    return {
        "purpose": purpose,
        "on": on.isoformat(),
        "time": time,
        "skill": skill,
        "edition": edition,
        "setting": setting,
        "role": role,
        "mode": mode,
        "place": place,
        "observers": [observer.observer_id],
        "results": {},
        "second": {"observer": second.observer_id, "results": {}} if second else None,
        "stopped": None,
        "began": began.isoformat() if began else None,
    }


@contextmanager
def _changing(draft: Draft, at: datetime) -> Iterator[dict[str, Any]]:
    """The data as it is now, locked, kept when the block ends. Raises Draft.DoesNotExist once it is signed."""
    with transaction.atomic():
        now = Draft.objects.select_for_update().get(pk=draft.pk)
        yield now.data
        now.changed_at = at
        now.save(update_fields=["data", "changed_at"])
    draft.data, draft.changed_at = now.data, at


def given_by(data: Mapping[str, Any], whose: Take) -> dict[str, Any]:
    """The results of one of the two observers, to read or to change. Raises NoSecondError."""
    if whose is Take.LEAD:
        return data["results"]
    if data["second"] is None:
        raise NoSecondError
    return data["second"]["results"]


def _all_given(data: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [given_by(data, whose) for whose in Take if whose is Take.LEAD or data["second"]]


def answer(draft: Draft, *, step: str, result: str, value: str = "", at: datetime, whose: Take = Take.LEAD) -> None:
    """Keep one step's result; value: as `number_typed` writes it, left out where nothing was seen."""
    with _changing(draft, at) as data:
        seen = {"result": result, "value": value} if value and result not in VALUELESS else result
        given_by(data, whose)[step] = seen


def all_others_alone(draft: Draft, attempt: Attempt, *, at: datetime) -> None:
    """Every step of the list without a result yet was done alone; a measured one never is without its number."""
    with _changing(draft, at) as data:
        for row in attempt.rest:
            given_by(data, attempt.whose).setdefault(row.step.code, Result.INDEPENDENT.value)


def name_second(draft: Draft, attempt: Attempt, *, observer: Member | None, at: datetime) -> None:
    """Somebody else watched too, and gives own results; None: nobody did, and such results go.

    Somebody else than before starts without results. What the lead no longer saw after a stop, the second did not
    see either, until they say so.
    """
    with _changing(draft, at) as data:
        if observer is None:
            data["second"] = None
        elif data["second"] is None or data["second"]["observer"] != observer.observer_id:
            unseen = _unseen_at_the_end(attempt, data["results"]) if data["stopped"] else ()
            data["second"] = {
                "observer": observer.observer_id,
                "results": dict.fromkeys(unseen, Result.NOT_SEEN.value),
            }


def _unseen_at_the_end(attempt: Attempt, results: Mapping[str, Any]) -> Iterator[str]:
    for step in reversed(attempt.steps):
        if results.get(step.code) != Result.NOT_SEEN:
            return
        yield step.code


def stop(
    draft: Draft,
    attempt: Attempt,
    *,
    whose: Stopped | None,
    under_way: str | None,
    by: str = "observer",
    why: str = "",
    at: datetime,
) -> None:
    """End the attempt early, for the patient's or the caregiver's sake; None takes it back.

    The step under way and what comes after it in the checklist was not seen, unless it has a result already. Without
    a step under way that is every step without one. by: one of STOPPED_BY; why: a free line.
    """
    codes = [step.code for step in attempt.steps]
    first = codes.index(under_way) if under_way in codes else 0
    with _changing(draft, at) as data:
        data["stopped"] = whose.value if whose else None
        _put(data, "stop", {"by": by, "why": why}, whose)
        for given in _all_given(data):
            for code in codes[first:] if whose else ():
                given.setdefault(code, Result.NOT_SEEN.value)


def keep_words(
    draft: Draft,
    attempt: Attempt,
    *,
    reteach: str,
    reteach_on: date | None,
    note: str,
    teach_back: str = "",
    interpreter: str = "",
    language: str = "",
    feels: str = "",
    stop: Mapping[str, str] | None = None,
    at: datetime,
) -> None:
    """Keep what was said around the attempt; results of steps that apply no longer are dropped.

    stop: who stopped it and why, where that is told again; left alone where the attempt is not stopped.
    """
    codes = {step.code for step in attempt.steps}
    with _changing(draft, at) as data:
        for given in _all_given(data):
            for code in given.keys() - codes:
                del given[code]
        _put(data, "reteach", {"line": reteach, "on": reteach_on.isoformat() if reteach_on else None}, reteach)
        _put(data, "note", note, note)
        _put(data, "teach_back", teach_back, teach_back)
        _put(data, "interpreter", {"kind": interpreter, "language": language}, interpreter)
        _put(data, "feels", feels, feels)
        if stop and data["stopped"]:
            data["stop"] = dict(stop)


def _put(data: dict[str, Any], key: str, value: Any, wanted: object) -> None:
    data.pop(key, None)
    if wanted:
        data[key] = value


# Looking at a draft ---------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One step of the attempt, as far as it is answered. number: its place in the checklist, from 1."""

    step: Step
    number: int
    text: str
    watch: str
    result: str | None
    value: str
    outside: bool

    @property
    def shown(self) -> str | None:
        """The result as a mark shows it: done alone, but outside the limits, is its own."""
        return "outside" if self.outside and self.result == Result.INDEPENDENT else self.result

    @property
    def hurts(self) -> bool:
        """Whether this is a critical step with a result, and not done alone."""
        return self.step.critical and self.shown not in (None, Result.INDEPENDENT.value)


class Attempt:
    """A draft with the steps that apply: those of its edition, for its role, under the care plan known at ``at``.

    whose: of the two observers, whose results these are.
    """

    def __init__(
        self, history: FamilyHistory, words: Words, draft: Draft, at: datetime, whose: Take = Take.LEAD
    ) -> None:
        data = draft.data
        self.data = data
        self.whose = whose
        self.day = date.fromisoformat(data["on"])
        found = history.known.programme.skills[data["skill"]].edition(data["edition"])
        assert found is not None  # what is published stays
        self.edition: Edition = found
        facts = history.known.scoring_facts.facts(self.day, as_seconds(data["time"]), at)
        self.steps = found.steps_for(data["role"], facts)
        self._words = words.steps.get((data["skill"], data["edition"]), {})
        self._made_of = (history, words, draft, at)

    @cached_property
    def second(self) -> Attempt | None:
        """The same attempt as the second observer saw it, where one is named."""
        return Attempt(*self._made_of, Take.SECOND) if self.data["second"] else None

    @property
    def is_whole(self) -> bool:
        """Every step that applies has a result of each observer, and nothing else has."""
        codes = {step.code for step in self.steps}
        return all(set(given) == codes for given in _all_given(self.data))

    @cached_property
    def results(self) -> Results:
        """What has been answered of the steps that apply."""
        given = given_by(self.data, self.whose)
        return {step.code: _seen(given[step.code]) for step in self.steps if step.code in given}

    @cached_property
    def rows(self) -> list[Row]:
        numbers = {code: number for number, code in enumerate(self._words, 1)}
        return [self._row(step, numbers.get(step.code, 0)) for step in self.steps]

    def _row(self, step: Step, number: int) -> Row:
        seen = self.results.get(step.code)
        words = self._words.get(step.code, {})
        return Row(
            step=step,
            number=number,
            text=words.get("text", step.code),
            watch=words.get("watch", ""),
            result=seen.result if seen else None,
            value=value_text(seen.value) if seen else "",
            outside=seen is not None and is_outside(step, seen.value),
        )

    @property
    def screens(self) -> list[Row]:
        """The steps asked one by one: the critical and the measured."""
        return [row for row in self.rows if row.step.critical or row.step.measure is not None]

    @property
    def rest(self) -> list[Row]:
        """The steps asked as one list."""
        return [row for row in self.rows if not (row.step.critical or row.step.measure is not None)]

    @property
    def missing(self) -> list[Row]:
        return [row for row in self.rows if row.result is None]

    @property
    def troubled(self) -> list[Row]:
        codes = {step.code for step, _, _ in troubles(self._answered, self.results)}
        return [row for row in self.rows if row.step.code in codes]

    @property
    def _answered(self) -> list[Step]:
        return [step for step in self.steps if step.code in self.results]

    @property
    def counted(self) -> tuple[int, int]:
        """How many of the answered steps that apply were done alone, and how many apply."""
        applicable = sum(seen.result != Result.NOT_APPLICABLE for seen in self.results.values())
        return applicable - len(self.troubled), applicable

    @property
    def best_outcome(self) -> Outcome:
        """What this would be if every step still to come were done alone."""
        alone = Seen(Result.INDEPENDENT.value)
        results = {step.code: self.results.get(step.code, alone) for step in self.steps}
        mark = self.edition.standard.pass_mark
        return outcome_of(self.steps, results, stopped=self.data["stopped"], pass_mark=mark)


def _seen(given: Any) -> Seen:
    if isinstance(given, dict):
        return Seen(given["result"], float(given["value"]))
    return Seen(given)


def value_text(value: float | Decimal | None) -> str:
    """A measured value without needless digits."""
    return "" if value is None else f"{float(value):.10g}"
