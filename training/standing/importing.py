"""The deed of bringing a programme file in: what is new in it is published, and what is published stays as it is."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import transaction

from competency.fields import Problem, RefusedError
from training.curriculum.models import Programme
from training.curriculum.programme_file import ProgrammeFile, content_digest, plain
from training.curriculum.published import published
from training.curriculum.retiring import retired_in_use
from training.curriculum.stating import changed
from training.people.models import Organisation
from training.records.appending import hold_still, lock_chain
from training.standing import deeds
from training.standing.cache import refresh_followers
from training.standing.file import read_rules
from training.standing.programme_records import Body, bodies_of_dated, write
from training.standing.proposing import earliest_day, families_following


@dataclass(frozen=True, slots=True, kw_only=True)
class Imported:
    """What an import changed. editions: skill and number of each new one; rules: the first days of new ones."""

    programme: Programme
    is_new: bool
    editions: tuple[tuple[str, int], ...]
    rules: tuple[str, ...]
    has_new_words: bool


@transaction.atomic
def import_programme(
    *, organisation: Organisation, file: ProgrammeFile, at: datetime, intents: Callable[[], uuid.UUID] = uuid.uuid4
) -> Imported:
    """Publish what a checked file adds to a programme, or the whole of it where it is new; all of it or nothing.

    A file holds the whole programme: what is published must be in it, word for word. Raises RefusedError, with lines
    where the file has them, when it is not, or when something new would begin before tomorrow.
    """
    there = Programme.objects.filter(organisation=organisation, code=file.code).first()
    try:
        with transaction.atomic():
            return _begun(organisation, file, at, intents) if there is None else _added(there, file, at, intents)
    except RefusedError as refusal:
        raise (file.read.refused(list(refusal.problems)) if file.read else refusal) from refusal


def _begun(organisation: Organisation, file: ProgrammeFile, at: datetime, intents: Callable[[], uuid.UUID]) -> Imported:
    tomorrow = at.astimezone(ZoneInfo(organisation.time_zone)).date() + timedelta(days=1)
    _refuse([*_too_early(file, file.editions, file.rules, tomorrow), *retired_in_use(file, tomorrow)])
    programme = deeds.publish_programme(organisation=organisation, file=file, at=at, intents=intents)
    return Imported(
        programme=programme,
        is_new=True,
        editions=tuple((skill, edition["edition"]) for skill, edition in file.editions),
        rules=tuple(r["in_force_from"] for r in file.rules),
        has_new_words=True,
    )


def _added(programme: Programme, file: ProgrammeFile, at: datetime, intents: Callable[[], uuid.UUID]) -> Imported:
    lock_chain(programme.public_id)
    hold_still(programme.organisation.public_id)  # in the order in which a publication takes them
    programme.refresh_from_db()
    there = published(programme)
    _refuse([*_facts_altered(programme.about.get("facts", ()), file), *_altered(there, file)])
    known = {(s["code"], e["edition"]) for s in there["skills"] for e in s["editions"]}
    days = {r["in_force_from"] for r in there["rules"]}
    editions = [(skill, e) for skill, e in file.editions if (skill, e["edition"]) not in known]
    rules = [r for r in file.rules if r["in_force_from"] not in days]
    earliest = earliest_day(programme, at)
    begun = earliest - timedelta(days=2)  # for everybody, whatever the time zone
    _refuse([*_too_early(file, editions, rules, earliest), *retired_in_use(file, begun)])
    has_new_words = plain(file.about) != programme.about
    _publish(programme, file if has_new_words else None, editions, rules, at, intents)
    return Imported(
        programme=programme,
        is_new=False,
        editions=tuple((skill, e["edition"]) for skill, e in editions),
        rules=tuple(r["in_force_from"] for r in rules),
        has_new_words=has_new_words,
    )


def _publish(
    programme: Programme,
    words: ProgrammeFile | None,
    editions: Iterable[tuple[str, dict[str, Any]]],
    rules: Iterable[dict[str, Any]],
    at: datetime,
    intents: Callable[[], uuid.UUID],
) -> None:
    """Append the records, keep the rows true to them, and work out again what families see."""
    bodies: list[Body] = [("programme", words.about)] if words else []
    bodies += bodies_of_dated(editions, rules)
    if not bodies:
        return
    write(programme, bodies, at=at, intents=intents)
    read_rules(programme)  # what was written is what the rules take
    refresh_followers(families_following(programme))


# What a file may not do -----------------------------------------------------------------------------------


def _refuse(found: Iterable[Problem]) -> None:
    problems = list(found)
    if problems:
        raise RefusedError(problems)


def _too_early(
    file: ProgrammeFile, editions: Iterable[tuple[str, dict[str, Any]]], rules: Iterable[dict[str, Any]], earliest: date
) -> Iterator[Problem]:
    """What would begin on a day that has begun for somebody: the same measure as when drafts are published."""
    said = f"has begun for somebody; {earliest} is the earliest"
    places = {s["code"]: n for n, s in enumerate(file.about["skills"])}
    before: dict[str, int] = {}
    new = {(skill, edition["edition"]) for skill, edition in editions}
    for skill, edition in file.editions:
        n = before[skill] = before.get(skill, -1) + 1
        if (skill, edition["edition"]) in new and date.fromisoformat(edition["in_force_from"]) < earliest:
            yield Problem(f"skills[{places[skill]}].editions[{n}].in_force_from", said)
    for r in rules:
        if date.fromisoformat(r["in_force_from"]) < earliest:
            yield Problem(f"rules[{file.rules.index(r)}].in_force_from", said)


def _facts_altered(there: Iterable[Mapping[str, Any]], file: ProgrammeFile) -> Iterator[Problem]:
    """Where a published fact is left out, or is of another kind: care plans state it."""
    places = {fact["code"]: n for n, fact in enumerate(file.about["facts"])}
    for fact in there:
        if fact["code"] not in places:
            yield Problem("facts", f'"{fact["code"]}" is published and is not in the file; retire it')
            continue
        n = places[fact["code"]]
        yield from (Problem(f"facts[{n}].{key}", said) for key, said in changed(file.about["facts"][n], fact))


def _altered(there: Mapping[str, Any], file: ProgrammeFile) -> Iterator[Problem]:
    """Where the file is not what is published: left out, or said otherwise."""
    places = {s["code"]: n for n, s in enumerate(file.about["skills"])}
    said: dict[str, list[dict[str, Any]]] = {code: [] for code in places}
    for skill, edition in file.editions:
        said[skill].append(edition)
    for skill in there["skills"]:
        if skill["code"] not in places:
            yield Problem("skills", f'"{skill["code"]}" is published and is not in the file')
            continue
        at = f"skills[{places[skill['code']]}].editions"
        for edition in skill["editions"]:
            yield from _edition_altered(skill["code"], edition, said[skill["code"]], at)
    yield from _rules_altered(there["rules"], file.rules)


def _edition_altered(skill: str, edition: dict[str, Any], said: list[dict[str, Any]], at: str) -> Iterator[Problem]:
    number = edition["edition"]
    found = next((n for n, e in enumerate(said) if e["edition"] == number), None)
    if found is None:
        yield Problem(at, f'edition {number} of "{skill}" is published and is not in the file')
    elif content_digest(said[found]) != content_digest(edition):
        here, before = content_digest(said[found])[:12], content_digest(edition)[:12]
        message = (
            f'edition {number} of "{skill}" is published and says otherwise (published {before}, here {here}); '
            "a change is a new edition with a number of its own"
        )
        yield Problem(_first_difference(plain(said[found]), edition, f"{at}[{found}]"), message)


def _rules_altered(there: list[dict[str, Any]], said: tuple[dict[str, Any], ...]) -> Iterator[Problem]:
    for rules in there:
        day = rules["in_force_from"]
        found = next((n for n, r in enumerate(said) if r["in_force_from"] == day), None)
        if found is None:
            yield Problem("rules", f"those from {day} are published and are not in the file")
        elif plain(said[found]) != rules:
            at = _first_difference(plain(said[found]), rules, f"rules[{found}]")
            yield Problem(at, f"the rules from {day} are published and say otherwise; a change begins on a later day")


def _first_difference(said: Any, there: Any, path: str) -> str:
    """The path in the file at which two values part."""
    if isinstance(said, dict) and isinstance(there, dict):
        for key in [*said, *there]:
            if said.get(key) != there.get(key) or (key in said) != (key in there):
                return _first_difference(said.get(key), there.get(key), f"{path}.{key}")
    if isinstance(said, list) and isinstance(there, list):
        for n, (one, other) in enumerate(zip(said, there, strict=False)):
            if one != other:
                return _first_difference(one, other, f"{path}[{n}]")
    return path
