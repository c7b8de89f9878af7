"""Writing the next edition of a skill, or the next sets, team and items: kept as it is written, one draft of each part.

Two people may write at once. Each change names the version it was made on; a change on an older one is refused and
overwrites nothing.
"""

from __future__ import annotations

import copy
import re
import unicodedata
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import IntegrityError, models, transaction

from competency.fields import Problem, RefusedError
from training.curriculum.models import Edition, Programme, ProgrammeDraft
from training.people.models import Member

RULES = ""  # the parts of a programme that are no skills: its sets, team and items
FACTS = "~facts"  # and its title, notice, facts and checks; no skill's code begins so
NO_SKILLS = (RULES, FACTS)
OF_FACTS = ("title", "notice", "facts", "checks")
WORDS = ("title", "plain", "group", "why", "cautions")
_PUBLISHED = ("edition", "in_force_from", "older_sign_offs", "change_note")  # said anew when it is published
_FIRST_EDITION = {"standard": {"needs": [{"passes": 1, "setting": ["patient"]}], "valid_for": "P1Y"}, "steps": []}


class ChangedByAnotherError(Exception):
    """The draft is not the one the change was made on. Carries the draft as it is now. Nothing was written."""

    def __init__(self, draft: ProgrammeDraft) -> None:
        self.draft = draft
        super().__init__(f"{draft} is at version {draft.version}")


# Beginning ------------------------------------------------------------------------------------------------


def begin_edition(programme: Programme, skill: str, *, by: Member, at: datetime) -> ProgrammeDraft:
    """The draft of a skill's next edition; begun from the newest one where there is none yet."""
    newest = Edition.objects.filter(programme=programme, skill=skill).order_by("number").last()
    words = next(s for s in programme.about["skills"] if s["code"] == skill)
    edition = {k: v for k, v in newest.body.items() if k not in _PUBLISHED} if newest else _FIRST_EDITION
    body = {"words": {key: words[key] for key in WORDS if key in words}, "edition": _with_lists(edition)}
    return begin(programme, skill, body, newest.number if newest else None, by, at)


def _with_lists(edition: Mapping[str, Any]) -> dict[str, Any]:
    """A file may write a single need without its list."""
    standard = dict(edition.get("standard", {}))
    for key in ("needs", "renewal"):
        if isinstance(standard.get(key), dict):
            standard[key] = [standard[key]]
    return {**copy.deepcopy(dict(edition)), "standard": standard}


def begin_skill(programme: Programme, words: Mapping[str, Any], *, by: Member, at: datetime) -> ProgrammeDraft:
    """A skill the programme does not have yet. Its code is made from its title."""
    taken = {s["code"] for s in programme.about["skills"]} | set(programme.drafts.values_list("skill", flat=True))
    code = code_from(str(words["title"]), taken)
    return begin(programme, code, {"words": dict(words), "edition": copy.deepcopy(_FIRST_EDITION)}, None, by, at)


def begin_rules(programme: Programme, *, by: Member, at: datetime) -> ProgrammeDraft:
    """The draft of the next sets, team and items."""
    newest = programme.rule_sets.order_by("in_force_from", "recorded_at").last()
    body = {"sets": {}, "team": [], "items": [], **(newest.body if newest else {})}
    kept = {k: v for k, v in body.items() if k not in _PUBLISHED}
    return begin(programme, RULES, kept, newest_of(programme, RULES), by, at)


def part_of(about: Mapping[str, Any]) -> dict[str, Any]:
    """A programme's title, notice, facts and checks as they are published."""
    return {key: about[key] for key in OF_FACTS if about.get(key)} | {"facts": about["facts"]}


def newest_of(programme: Programme, skill: str) -> int | None:
    """The number of the newest published edition; of the sets, team and items: how often they were published."""
    if skill == FACTS:
        return None  # its draft keeps what it was begun from
    if skill == RULES:
        return programme.rule_sets.count() or None
    return programme.editions.filter(skill=skill).aggregate(models.Max("number"))["number__max"]


def follow_newest(draft: ProgrammeDraft, *, version: int, by: Member, at: datetime) -> None:
    """Say that the draft takes account of what was published since it was begun. Raises ChangedByAnotherError."""
    begun = {"begun_from": part_of(draft.programme.about)} if draft.skill == FACTS else {}
    save(draft, {**draft.body, **begun}, version=version, by=by, at=at)
    ProgrammeDraft.objects.filter(pk=draft.pk).update(based_on=newest_of(draft.programme, draft.skill))


def begin(
    programme: Programme, skill: str, body: dict[str, Any], based_on: int | None, by: Member, at: datetime
) -> ProgrammeDraft:
    made = {"body": body, "based_on": based_on, "changed_by": by, "changed_at": at}
    try:
        with transaction.atomic():
            return ProgrammeDraft.objects.get_or_create(programme=programme, skill=skill, defaults=made)[0]
    except IntegrityError:  # somebody began it in the same moment
        return ProgrammeDraft.objects.get(programme=programme, skill=skill)


def code_from(title: str, taken: Iterable[str]) -> str:
    """A short code of plain letters that nothing here has yet."""
    letters = unicodedata.normalize("NFKD", title.casefold()).encode("ascii", "ignore").decode()
    stem = re.sub(r"[^a-z0-9]+", "_", letters).strip("_")[:40] or "skill"
    stem = stem if stem[0].isalpha() else f"s_{stem}"
    taken = set(taken)
    return next(code for n in range(1, 10_000) if (code := stem if n == 1 else f"{stem}_{n}") not in taken)


# Saving ---------------------------------------------------------------------------------------------------


def save(draft: ProgrammeDraft, body: Mapping[str, Any], *, version: int, by: Member, at: datetime) -> None:
    """Keep what was written on this version. Raises ChangedByAnotherError, and writes nothing, on any other."""
    there = ProgrammeDraft.objects.filter(pk=draft.pk, version=version)
    if not there.update(body=body, version=version + 1, changed_by=by, changed_at=at):
        raise ChangedByAnotherError(ProgrammeDraft.objects.select_related("changed_by__user").get(pk=draft.pk))


def throw_away(draft: ProgrammeDraft, *, version: int) -> None:
    """Raises ChangedByAnotherError when somebody wrote in it since; RefusedError when other drafts rest on it."""
    if is_skill(draft) and not any(s["code"] == draft.skill for s in draft.programme.about["skills"]):
        problems = list(uses_of_skill(draft.programme, draft.skill))
        if problems:
            raise RefusedError(problems)
    if not ProgrammeDraft.objects.filter(pk=draft.pk, version=version).delete()[0]:
        raise ChangedByAnotherError(ProgrammeDraft.objects.select_related("changed_by__user").get(pk=draft.pk))


def is_skill(draft: ProgrammeDraft) -> bool:
    """Whether this is the draft of an edition, and not of what belongs to the whole programme."""
    return draft.skill not in NO_SKILLS


def uses_of_skill(programme: Programme, skill: str) -> Iterable[Problem]:
    """Where the other drafts name a skill: sets, and what comes first."""
    for draft in programme.drafts.exclude(skill__in=(skill, FACTS)):
        if draft.skill == RULES:
            for code, set_ in draft.body["sets"].items():
                if skill in set_["skills"]:
                    yield Problem(f"sets.{code}", f"the set “{set_['title']}” asks for this skill")
        elif any(p["skill"] == skill for p in draft.body["edition"].get("requires", ())):
            title = draft.body["words"]["title"]
            yield Problem(f"{draft.skill}.requires", f"“{title}” asks for this skill first")


# Steps ----------------------------------------------------------------------------------------------------


def new_step_code(programme: Programme, skill: str, steps: Iterable[Mapping[str, Any]]) -> str:
    """A code no step of any edition of this skill ever had, so that a comparison never takes one for another."""
    taken = {step["code"] for step in steps}
    for edition in Edition.objects.filter(programme=programme, skill=skill):
        taken |= {step["code"] for step in edition.body.get("steps", ())}
    return next(code for n in range(1, 10_000) if (code := f"s{n:02}") not in taken)


def with_step(edition: Mapping[str, Any], step: Mapping[str, Any]) -> dict[str, Any]:
    """The edition with this step in the place of the one of its code, or at the end."""
    steps = list(edition.get("steps", ()))
    places = [i for i, one in enumerate(steps) if one["code"] == step["code"]]
    if places:
        steps[places[0]] = dict(step)
    else:
        steps.append(dict(step))
    return {**edition, "steps": steps}


def moved_step(edition: Mapping[str, Any], code: str, by: int) -> dict[str, Any]:
    """The edition with one step so many places further down (above: negative), as far as there is room."""
    steps = list(edition.get("steps", ()))
    here = next(i for i, one in enumerate(steps) if one["code"] == code)
    steps.insert(max(0, min(len(steps) - 1, here + by)), steps.pop(here))
    return {**edition, "steps": steps}


def without_step(edition: Mapping[str, Any], code: str) -> dict[str, Any]:
    """The edition without one step. Raises RefusedError where its standard could then be met by nobody."""
    left = {**edition, "steps": [one for one in edition.get("steps", ()) if one["code"] != code]}
    problems = [p for p in steps_for_needs(left) if p not in set(steps_for_needs(edition))]
    if problems:
        raise RefusedError(problems)
    return left


def steps_for_needs(edition: Mapping[str, Any]) -> Iterable[Problem]:
    """The needs whose attempts would have no step: such an attempt is incomplete, and the need never met."""
    standard, steps = edition.get("standard", {}), edition.get("steps", ())
    shown = {role for step in steps for role in step.get("roles") or ("lead", "assist")}
    needs = standard.get("needs") or []
    inherited = {"role": needs[0]["role"]} if needs and needs[0].get("role") else {}
    for key, asked in (("needs", needs), ("renewal", [{**inherited, **n} for n in standard.get("renewal") or ()])):
        for i, need in enumerate(asked):
            roles = need.get("role") or ("lead", "assist")
            if not shown.intersection(roles):
                who = " or ".join({"lead": "leading", "assist": "assisting"}[role] for role in roles)
                yield Problem(f"standard.{key}[{i}]", f"asks for a pass, and no step is left to be shown {who}")
