"""The one place where records of a programme are written: its words, its editions, its sets, team and items.

Whoever publishes - drafts, a copy, a file, the demo - judges first and hands the bodies here.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from decimal import Decimal
from typing import Any

from training.curriculum.models import Edition, Programme, RuleSet
from training.curriculum.programme_file import ProgrammeFile, plain
from training.records.appending import append
from training.records.models import Record
from training.standing.projecting import edition_of, edition_row, programme_row, rules_of

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
    made = []
    for kind, body in bodies:
        whole = {**exact(body), **({"signed": signed(kind)} if signed else {})}
        record = append(
            organisation=programme.organisation,
            chain=programme.public_id,
            kind=kind,
            body=whole,
            intent=intents(),
            at=at,
        )
        made.append((record, plain(dict(body))))
    _project(programme, made)
    return [record for record, _body in made]


def _project(programme: Programme, made: list[tuple[Record, dict[str, Any]]]) -> None:
    """The rows are what their records say, with the keys in the order they were given in: a record sorts its own."""
    for record, body in made:
        if record.kind == "programme":
            for name, value in {**programme_row(record), "about": body}.items():
                setattr(programme, name, value)
    programme.version = made[-1][0].digest
    programme.save()
    Edition.objects.bulk_create(_edition(programme, *one) for one in made if one[0].kind == "edition")
    RuleSet.objects.bulk_create(_rules(programme, *one) for one in made if one[0].kind == "rules")


def _edition(programme: Programme, record: Record, body: dict[str, Any]) -> Edition:
    skill, number = edition_of(record)
    said = {key: value for key, value in body.items() if key != "skill"}
    return Edition(programme=programme, skill=skill, number=number, **{**edition_row(record), "body": said})


def _rules(programme: Programme, record: Record, body: dict[str, Any]) -> RuleSet:
    day, recorded_at = rules_of(record)
    return RuleSet(programme=programme, in_force_from=day, recorded_at=recorded_at, body=body)


def exact(value: Any) -> Any:
    """The same values with decimals for fractions, as a record writes them."""
    if isinstance(value, float):
        return Decimal(repr(value))
    if isinstance(value, Mapping):
        return {key: exact(item) for key, item in value.items()}
    return [exact(item) for item in value] if isinstance(value, list | tuple) else value
