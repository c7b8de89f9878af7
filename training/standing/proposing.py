"""A programme as it would be, were some of its drafts published: judged whole before anything is written."""

from __future__ import annotations

import copy
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from competency.fields import Problem, RefusedError
from competency.programme import Programme as ProgrammeRules
from training.curriculum import programme_file
from training.curriculum.drafting import FACTS, RULES, is_skill, newest_of, part_of
from training.curriculum.judging import problems_of_edition, problems_of_rules
from training.curriculum.models import Edition, Programme, ProgrammeDraft, RuleSet
from training.curriculum.stating import in_force_since, problems_of_facts, with_part
from training.curriculum.words import Words, words_of
from training.people.models import Family
from training.standing.file import case_programme


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What is to be published. drafts: parts (a skill, or "" for sets, team and items), each with the version seen.

    older: by skill, what its edition does to older sign-offs, as the file writes it.
    """

    drafts: Mapping[str, int]
    first_day: date
    note: str
    older: Mapping[str, Any] = field(default_factory=dict)


def families_following(programme: Programme) -> Any:
    return Family.objects.filter(enrolment__programme=programme).select_related("organisation", "enrolment__programme")


def earliest_day(programme: Programme, at: datetime) -> date:
    """The first day that has not begun for the organisation or for any family that follows the programme."""
    zones = {ZoneInfo(programme.organisation.time_zone), *(family.zone for family in families_following(programme))}
    return max(at.astimezone(zone).date() for zone in zones) + timedelta(days=1)


class Proposal:
    """The rows and words that publishing these drafts would make, beside those published already."""

    def __init__(self, programme: Programme, drafts: Sequence[ProgrammeDraft], choice: Choice, at: datetime) -> None:
        self.published = programme
        self.drafts = list(drafts)
        self.choice = choice
        self.at = at
        self.editions = list(programme.editions.all())
        self.rule_sets = list(programme.rule_sets.all())
        self.new_editions = [self._edition(draft) for draft in drafts if is_skill(draft)]
        self.new_rules = [self._rules(draft) for draft in drafts if draft.skill == RULES]

    def _edition(self, draft: ProgrammeDraft) -> Edition:
        number = max((e.number for e in self.editions if e.skill == draft.skill), default=0) + 1
        day = self.choice.first_day
        older = self.choice.older.get(draft.skill, "stand") if number > 1 else "stand"
        dated = {"edition": number, "in_force_from": day.isoformat(), "older_sign_offs": older}
        body = {**dated, **({"change_note": self.choice.note} if self.choice.note else {}), **draft.body["edition"]}
        made = {"skill": draft.skill, "number": number, "in_force_from": day, "recorded_at": self.at, "body": body}
        return Edition(programme=self.published, **made)

    def _rules(self, draft: ProgrammeDraft) -> RuleSet:
        day = self.choice.first_day
        note = {"change_note": self.choice.note} if self.choice.note else {}
        body = {"in_force_from": day.isoformat(), **note, **draft.body}
        return RuleSet(programme=self.published, in_force_from=day, recorded_at=self.at, body=body)

    @cached_property
    def about(self) -> dict[str, Any]:
        """The programme's words with the drafts' in place of the older ones."""
        about = copy.deepcopy(self.published.about)
        words = {d.skill: {"code": d.skill, **d.body["words"]} for d in self.drafts if is_skill(d)}
        known = [s["code"] for s in about["skills"]]
        about["skills"] = [{**s, **words.get(s["code"], {})} for s in about["skills"]]
        about["skills"] += [said for code, said in words.items() if code not in known]
        return about if self.drafted_facts is None else with_part(about, self.drafted_facts)

    @property
    def drafted_facts(self) -> dict[str, Any] | None:
        """The draft of facts, notice and checks; None where it is not among those to be published."""
        return next((dict(d.body) for d in self.drafts if d.skill == FACTS), None)

    @cached_property
    def programme(self) -> Programme:
        """The row as it would be; never saved."""
        old = self.published
        return Programme(
            public_id=old.public_id,
            organisation=old.organisation,
            code=old.code,
            title=self.about["title"],
            about=self.about,
        )

    @cached_property
    def words(self) -> Words:
        return words_of(self.programme, [*self.editions, *self.new_editions], [*self.rule_sets, *self.new_rules])

    @cached_property
    def rules(self) -> ProgrammeRules:
        """Raises RefusedError where the rules package cannot take them."""
        every = [*self.editions, *self.new_editions], [*self.rule_sets, *self.new_rules]
        return programme_file.checked(programme_file.plain(case_programme(self.programme, *every)))

    # Judging ----------------------------------------------------------------------------------------------

    @cached_property
    def problems(self) -> tuple[Problem, ...]:
        """Everything that stands in the way, each with its place in words."""
        found = [*self._dates(), *self._overtaken(), *self._own()]
        try:
            _read = self.rules
        except RefusedError as refusal:
            found += [Problem(self.place(p.path), self._titled(p.message)) for p in refusal.problems]
        return tuple(dict.fromkeys(found))

    def _dates(self) -> Iterator[Problem]:
        first, earliest = self.choice.first_day, earliest_day(self.published, self.at)
        if first < earliest:
            yield Problem("first day", f"has begun for somebody; {earliest} is the earliest")
        last = max((r.in_force_from for r in self.rule_sets), default=None)
        if self.new_rules and last is not None and first <= last:
            yield Problem("first day", f"is not after {last}, the first day of the sets published before")
        if not self.choice.note.strip():
            yield Problem("change note", "is empty")

    def _overtaken(self) -> Iterator[Problem]:
        """Drafts begun before something else was published: that would be lost without a word."""
        for draft in self.drafts:
            if draft.skill == FACTS:
                if draft.body["begun_from"] != part_of(self.published.about):
                    yield Problem("facts, notice and checks", "were published again since this draft was begun")
                continue
            newest = newest_of(self.published, draft.skill)
            if draft.based_on == newest:
                continue
            if draft.skill == RULES:
                yield Problem("sets, team and items", "were published again since this draft was begun")
            else:
                title = self.words.skill(draft.skill).title
                begun = f"from edition {draft.based_on}" if draft.based_on else "as a new skill"
                yield Problem(title, f"the draft was begun {begun}, and edition {newest} is published since")

    def _own(self) -> Iterator[Problem]:
        skills = {e.skill for e in [*self.editions, *self.new_editions]}
        for draft in self.drafts:
            if draft.skill == FACTS:
                for p in problems_of_facts(draft.body, self.published.about, self._asking()):
                    yield Problem(place_in_draft(p.path, self.words), p.message)
            elif draft.skill == RULES:
                for p in problems_of_rules(draft.body, skills):
                    yield Problem(place_in_draft(p.path, self.words), self._titled(p.message))
            else:
                title = self.words.skill(draft.skill).title
                for p in problems_of_edition(draft.body, self.words.offered):
                    yield Problem(f"{title}, {place_in_draft(p.path, self.words)}", p.message)

    def _asking(self) -> list[tuple[str, dict[str, Any]]]:
        """The editions in force or to come, published or drafted, each with its title."""
        begun = earliest_day(self.published, self.at) - timedelta(days=2)  # for everybody, whatever the time zone
        found = in_force_since([*self.editions, *self.new_editions], begun)
        return [(f"{self.words.skill(e.skill).title}, edition {e.number}", e.body) for e in found]

    def place(self, path: str) -> str:
        """A path of the case's programme in words: "Suctioning, edition 2, step 3, text"."""
        found = re.match(r"skills\[(\d+)\](?:\.editions\[(\d+)\])?\.?(.*)", path)
        if not found:
            return place_in_draft(re.sub(r"^rules\[\d+\]\.?", "", path), self.words)
        case = case_programme(self.programme, [*self.editions, *self.new_editions], [])["skills"][int(found[1])]
        parts = [self.words.skill(case["code"]).title]
        if found[2]:
            parts.append(f"edition {case['editions'][int(found[2])]['edition']}")
        rest = place_in_draft(found[3], self.words) if found[3] and found[3] != "editions" else ""
        return ", ".join([*parts, *([rest] if rest else [])])

    def _titled(self, message: str) -> str:
        """A circle names skills by their codes; people know their titles."""
        before, circle, ring = message.partition(" go in a circle: ")
        if not circle:
            return message
        titles = " needs ".join(self.words.skill(code).title for code in ring.split(" needs "))
        return f"{before}{circle}{titles}"


_NAMES = {
    "applies_when": "condition",
    "on_change": "when it changes",
    "requires": "what comes first",
    "may_skip": "may be skipped",
    "measure": "measured",
    "order": "limit from the order",
    "in_force_from": "first day",
    "older_sign_offs": "older sign-offs",
    "needs_authorisation": "authorisation",
    "valid_for": "holds",
    "first_valid_for": "holds the first time",
    "pass_mark": "pass mark",
    "after_failure": "after a failure",
    "plain": "caregiver wording",
    "why": "why it matters",
    "watch": "common mistakes",
}
_COUNTED = {
    "steps": "step",
    "needs": "need",
    "renewal": "renewal need",
    "cautions": "caution",
    "people": "people, line",
    "team": "team, way",
    "items": "item",
    "requires": "what comes first, line",
    "skills": "skill",
}


def place_in_draft(path: str, words: Words) -> str:
    """A path inside a draft in words: ``edition.steps[2].measure.low`` is "step 3, measured, low"."""
    return ", ".join(_parts(path, words))


def _parts(path: str, words: Words) -> Iterator[str]:
    before = ""
    for part in filter(None, path.split(".")):
        name, _bracket, number = part.partition("[")
        if part in ("words", "edition", "sets") and not before:
            continue
        if number:
            yield f"{_COUNTED.get(name, name)} {int(number.rstrip(']')) + 1}"
        elif before in ("applies_when", "on_change"):
            yield words.fact(name)
        else:
            yield _NAMES.get(name, words.set(name) if name in words.sets else name)
        before = name
