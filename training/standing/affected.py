"""Before publishing: who would stand elsewhere, on which day, and whether a family's readiness would change.

Every family that follows the programme is worked out twice by the rules: as things are, and with the new editions in
the case. Nothing is written.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from competency.history import FamilyHistory
from competency.readiness import Verdict
from competency.standing import Line, Standing
from training.curriculum.words import SkillWords
from training.people.models import Caregiver, Family, Member
from training.standing.file import FamilyFile, open_file
from training.standing.proposing import Proposal, families_following

AHEAD = timedelta(days=90)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """The same day without the new editions, and with them."""

    without: Any
    with_: Any

    @property
    def differs(self) -> bool:
        return bool(self.without != self.with_)


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """One caregiver in one skill whose standing would be another. since: the first day on which it would."""

    caregiver: Caregiver
    skill: SkillWords
    today: Standing | None
    first: Pair
    later: Pair
    since: date


@dataclass(frozen=True, slots=True, kw_only=True)
class FamilyMoved:
    family: Family
    moved: tuple[Moved, ...]
    verdict_today: Verdict | None
    verdict_first: Pair
    verdict_later: Pair
    verdict_since: date | None

    @property
    def changes_verdict(self) -> bool:
        return self.verdict_since is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class Affected:
    """families: those with a change. unchanged: how many have none. unseen: how many this member may not see."""

    first: date
    later: date
    families: tuple[FamilyMoved, ...]
    unchanged: int
    unseen: int

    @property
    def people(self) -> int:
        return len({one.caregiver.pk for family in self.families for one in family.moved})

    @property
    def verdicts(self) -> int:
        """Families whose readiness would be another."""
        return sum(family.changes_verdict for family in self.families)

    def said(self) -> dict[str, Any]:
        """All of it as plain values, for the digest of what stood on the screen."""
        return {
            "families": [
                [
                    str(f.family.public_id),
                    [[m.caregiver.case_id, m.skill.code, m.today, *_plain(m.first), *_plain(m.later)] for m in f.moved],
                    [f.verdict_today, *_plain(f.verdict_first), *_plain(f.verdict_later)],
                ]
                for f in self.families
            ],
            "unchanged": self.unchanged,
            "unseen": self.unseen,
        }


def _plain(pair: Pair) -> tuple[Any, Any]:
    return pair.without, pair.with_


def affected(proposal: Proposal, member: Member) -> Affected:
    """Raises RefusedError where the rules refuse the proposal."""
    following = families_following(proposal.published)
    seen = list(following.filter(pk__in=Family.objects.visible_to(member)).prefetch_related("caregivers"))
    first = proposal.choice.first_day
    found = [moved for family in seen if (moved := family_moved(open_file(family), proposal, first)) is not None]
    return Affected(
        first=first,
        later=first + AHEAD,
        families=tuple(found),
        unchanged=len(seen) - len(found),
        unseen=following.count() - len(seen),
    )


def family_moved(file: FamilyFile, proposal: Proposal, first: date) -> FamilyMoved | None:
    """What would be another in this family; None where nothing would."""
    now, then = file.history(), file.with_rules(proposal.rules, proposal.words).history()
    today = file.family.today(proposal.at)
    moved = tuple(_moved(file, proposal, now, then, (today, first, first + AHEAD)))
    old, new = now.readiness.line, then.readiness.line
    since = first_difference(old, new, first, first + AHEAD)
    if not moved and since is None:
        return None
    return FamilyMoved(
        family=file.family,
        moved=moved,
        verdict_today=old.on(today),
        verdict_first=Pair(without=old.on(first), with_=new.on(first)),
        verdict_later=Pair(without=old.on(first + AHEAD), with_=new.on(first + AHEAD)),
        verdict_since=since,
    )


def _moved(
    file: FamilyFile, proposal: Proposal, now: FamilyHistory, then: FamilyHistory, days: tuple[date, date, date]
) -> Iterator[Moved]:
    today, first, later = days
    nothing: Line[Standing] = Line(())
    for caregiver in file.caregivers:
        if caregiver.case_id not in now.caregivers:
            continue
        for code in then.known.programme.skills:
            old = now.line(caregiver.case_id, code) if code in now.known.programme.skills else nothing
            new = then.line(caregiver.case_id, code)
            since = first_difference(old, new, first, later)
            if since is not None:
                yield Moved(
                    caregiver=caregiver,
                    skill=proposal.words.skill(code),
                    today=old.on(today),
                    first=Pair(without=old.on(first), with_=new.on(first)),
                    later=Pair(without=old.on(later), with_=new.on(later)),
                    since=since,
                )


def first_difference(old: Line[Any], new: Line[Any], first: date, last: date) -> date | None:
    """The first day from ``first`` through ``last`` on which two lines say something else."""
    edges: Iterable[date] = {first, *(d for line in (old, new) for d in line.starts if first < d <= last)}
    return next((day for day in sorted(edges) if _said(old.on(day)) != _said(new.on(day))), None)


def _said(value: Any) -> Any:
    """A skill that is not there and one that is not required ask the same of everybody: nothing."""
    return None if value is Standing.NOT_REQUIRED else value
