"""The one place where records of a programme are written: its words, its editions, its sets, team and items.

Whoever publishes - drafts, a copy, a file, the demo - judges first and hands the bodies here.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from training.curriculum.models import Edition, Programme, RuleSet
from training.curriculum.programme_file import ProgrammeFile
from training.records.appending import append
from training.records.models import Record
from training.standing.projecting import edition_row, programme_row, rules_row

Body = tuple[str, Mapping[str, Any]]
"""A record's kind ("programme", "edition" or "rules") and what it says, without the signature."""


def bodies_of(file: ProgrammeFile) -> list[Body]:
    """All that a file says of a programme, in the order in which it is recorded."""
    return [("programme", file.about), *bodies_of_dated(file.editions, file.rules)]


def bodies_of_dated(
    editions: Iterable[tuple[str, Mapping[str, Any]]], rules: Iterable[Mapping[str, Any]]
) -> list[Body]:
    """editions: each with its skill's code."""
    return [*(("edition", {"skill": skill, **edition}) for skill, edition in editions), *(("rules", r) for r in rules)]


def write(
    programme: Programme,
    bodies: Iterable[Body],
    *,
    at: datetime,
    intents: Callable[[], uuid.UUID],
    signed: Callable[[str], Mapping[str, Any]] | None = None,
) -> list[Record]:
    """Append these records to a programme's chain, which the caller holds locked, and bring the rows to them.

    signed: the signature for a kind; none where a file is brought in by command.
    """
    made = [
        append(
            organisation=programme.organisation,
            chain=programme.public_id,
            kind=kind,
            body={**exact(body), **({"signed": signed(kind)} if signed else {})},
            intent=intents(),
            at=at,
        )
        for kind, body in bodies
    ]
    _project(programme, made)
    return made


def _project(programme: Programme, made: list[Record]) -> None:
    for record in made:
        if record.kind == "programme":
            for name, value in programme_row(record).items():
                setattr(programme, name, value)
    programme.version = made[-1].digest
    programme.save()
    Edition.objects.bulk_create(_edition(programme, record) for record in made if record.kind == "edition")
    RuleSet.objects.bulk_create(_rules(programme, record) for record in made if record.kind == "rules")


def _edition(programme: Programme, record: Record) -> Edition:
    named = {"skill": record.data["skill"], "number": record.data["edition"]}
    return Edition(programme=programme, **named, **edition_row(record))


def _rules(programme: Programme, record: Record) -> RuleSet:
    row = rules_row(record)
    day = date.fromisoformat(row["body"]["in_force_from"])
    return RuleSet(programme=programme, in_force_from=day, recorded_at=record.recorded_at, **row)


def exact(value: Any) -> Any:
    """The same values with decimals for fractions, as a record writes them."""
    if isinstance(value, float):
        return Decimal(repr(value))
    if isinstance(value, Mapping):
        return {key: exact(item) for key, item in value.items()}
    return [exact(item) for item in value] if isinstance(value, list | tuple) else value
