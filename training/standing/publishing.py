"""The deeds of the curriculum that members sign: put drafts in force, copy a programme, begin an empty one."""

from __future__ import annotations

import copy
import json
import uuid
from collections.abc import Iterator, Mapping
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import transaction

from competency.fields import Problem, RefusedError
from training.curriculum.models import Programme, ProgrammeDraft
from training.curriculum.programme_file import ProgrammeFile
from training.people.models import Member
from training.records.appending import append, hold_still, lock_chain
from training.records.models import Record
from training.standing.cache import refresh_followers
from training.standing.deeds import DraftMovedError
from training.standing.file import read_rules
from training.standing.projecting import edition_row, programme_row, rules_row
from training.standing.proposing import Choice, Proposal, families_following
from training.standing.signing import signed_by


def proposal_of(programme: Programme, choice: Choice, at: datetime) -> Proposal:
    """Raises DraftMovedError when a draft is not at the version that was chosen."""
    drafts = list(programme.drafts.select_related("changed_by__user").filter(skill__in=choice.drafts))
    if {d.skill: d.version for d in drafts} != dict(choice.drafts):
        raise DraftMovedError(programme.public_id)
    return Proposal(programme, drafts, choice, at)


@transaction.atomic
def publish(*, programme: Programme, choice: Choice, by: Member, intent: uuid.UUID, at: datetime) -> list[Record]:
    """Put drafts in force from a later day, for everybody who follows the programme; one signature over all of it.

    The whole programme is judged again once nobody else can write: two drafts, each sound, may make a circle.
    Raises RefusedError with every problem, DraftMovedError when a draft was changed meanwhile; writes nothing then.
    """
    lock_chain(programme.public_id)
    hold_still(programme.organisation.public_id)
    there = _written_before(programme, intent)
    if there:
        return there
    programme = Programme.objects.select_related("organisation").get(pk=programme.pk)
    proposal = proposal_of(programme, choice, at)
    if not proposal.drafts:
        raise RefusedError([Problem("drafts", "nothing is chosen")])
    if proposal.problems:
        raise RefusedError(proposal.problems)
    made = _write(programme, list(_bodies(proposal)), by, intent, at)
    ProgrammeDraft.objects.filter(pk__in=[d.pk for d in proposal.drafts]).delete()
    read_rules(programme)  # what was written is what was judged
    refresh_followers(families_following(programme))
    return made


def _written_before(programme: Programme, intent: uuid.UUID) -> list[Record]:
    """The records that this very post is already."""
    first = Record.objects.of_chain(programme.public_id).filter(intent=intent).first()
    if first is None:
        return []
    together = first.data["signed"].get("together", [str(intent)])
    return list(Record.objects.of_chain(programme.public_id).filter(intent__in=together))


def _bodies(proposal: Proposal) -> Iterator[tuple[str, Mapping[str, Any]]]:
    if proposal.about != proposal.published.about:
        yield "programme", proposal.about
    for edition in proposal.new_editions:
        yield "edition", {"skill": edition.skill, **edition.body}
    for rules in proposal.new_rules:
        yield "rules", rules.body


def _write(
    programme: Programme, bodies: list[tuple[str, Mapping[str, Any]]], by: Member, intent: uuid.UUID, at: datetime
) -> list[Record]:
    """Append what is published and bring the rows to it."""
    intents = [intent if n == 0 else uuid.uuid5(intent, str(n)) for n in range(len(bodies))]
    together = {"together": [str(i) for i in intents]} if len(intents) > 1 else {}
    made = []
    for (kind, body), own in zip(bodies, intents, strict=True):
        whole = {**exact(body), "signed": {**signed_by(by, kind=kind, at=at), **together}}
        made.append(
            append(
                organisation=programme.organisation,
                chain=programme.public_id,
                kind=kind,
                body=whole,
                intent=own,
                at=at,
            )
        )
    programme.version = made[-1].digest
    for record in made:
        _project(programme, record)
    programme.save()
    return made


def _project(programme: Programme, record: Record) -> None:
    if record.kind == "programme":
        for name, value in programme_row(record).items():
            setattr(programme, name, value)
    elif record.kind == "edition":
        programme.editions.create(skill=record.data["skill"], number=record.data["edition"], **edition_row(record))
    else:
        row = rules_row(record)
        day = date.fromisoformat(row["body"]["in_force_from"])
        programme.rule_sets.create(in_force_from=day, recorded_at=record.recorded_at, **row)


def exact(value: Any) -> Any:
    """The same values with decimals for fractions, as a record writes them."""
    return json.loads(json.dumps(value), parse_float=Decimal)


# Programmes of one's own ----------------------------------------------------------------------------------


@transaction.atomic
def copy_programme(
    *, programme: Programme, code: str, title: str, first_day: date, by: Member, intent: uuid.UUID, at: datetime
) -> Programme:
    """An own programme with what is newest in another: each skill's newest edition as edition 1, from ``first_day``."""
    newest = {e.skill: e for e in programme.editions.order_by("number")}
    rules = programme.rule_sets.order_by("in_force_from", "recorded_at").last()
    dated = {"in_force_from": first_day.isoformat()}
    file = ProgrammeFile(
        code=code,
        title=title,
        about={**copy.deepcopy(programme.about), "code": code, "title": title},
        editions=tuple(
            (skill, {**_without_note(e.body), **dated, "edition": 1, "older_sign_offs": "stand"})
            for skill, e in newest.items()
        ),
        rules=({**_without_note(rules.body), **dated},) if rules else (),
    )
    return _begin(by, file, first_day, intent, at)


def _without_note(body: Mapping[str, Any]) -> dict[str, Any]:
    return {key: value for key, value in body.items() if key != "change_note"}


@transaction.atomic
def begin_programme(
    *, like: Programme | None, code: str, title: str, notice: str, by: Member, intent: uuid.UUID, at: datetime
) -> Programme:
    """A programme without skills. like: the one whose facts of the care plan it takes over."""
    about: dict[str, Any] = {"code": code, "title": title, "notice": notice, "facts": [], "skills": []}
    if like is not None:
        about = {**copy.deepcopy(like.about), **about, "facts": copy.deepcopy(like.about["facts"])}
        about.pop("sample", None)
    file = ProgrammeFile(code=code, title=title, about=about, editions=(), rules=())
    return _begin(by, file, None, intent, at)


def _begin(by: Member, file: ProgrammeFile, first_day: date | None, intent: uuid.UUID, at: datetime) -> Programme:
    public_id = uuid.uuid5(intent, "programme")
    lock_chain(public_id)
    there = Programme.objects.filter(public_id=public_id, organisation=by.organisation).first()
    if there is not None:
        return there
    problems = []
    if Programme.objects.filter(organisation=by.organisation, code=file.code).exists():
        problems.append(Problem("code", f"“{file.code}” is the code of another programme"))
    if first_day is not None and first_day <= by.today(at):
        problems.append(Problem("first_day", "has begun; tomorrow is the earliest"))
    if problems:
        raise RefusedError(problems)
    made = Programme(
        public_id=public_id, organisation=by.organisation, code=file.code, title=file.title, about=file.about
    )
    made.save()
    bodies: list[tuple[str, Mapping[str, Any]]] = [("programme", file.about)]
    bodies += [("edition", {"skill": skill, **edition}) for skill, edition in file.editions]
    bodies += [("rules", rules) for rules in file.rules]
    _write(made, bodies, by, intent, at)
    read_rules(made)
    return made
