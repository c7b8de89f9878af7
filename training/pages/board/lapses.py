"""Sign-offs that lapse if nothing more happens, told with their people, from the stored spans."""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple

from django.db.models import Min, Q

from competency.standing import Standing
from training.curriculum.words import SkillWords, Words
from training.pages.often import address_of_family, day_written
from training.people.models import Member
from training.standing.models import CachedStanding, LapseDay

_CAREGIVER = ("caregiver__full_name", "caregiver__called", "caregiver__through")
FamilyDay = tuple[int, date]  # a family's key and a day


class FamilyNamed(NamedTuple):
    """As much of a family as its name and its address need. programme: its key."""

    public_id: uuid.UUID
    name: str
    programme: int


class CaregiverNamed(NamedTuple):
    full_name: str
    called: str
    through: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Lapse:
    """A sign-off that lapses if nothing more happens. takes_down: the family is not ready from that day on."""

    family: FamilyNamed
    caregiver: CaregiverNamed
    skill: SkillWords
    day: date
    takes_down: bool

    @property
    def said(self) -> str:
        return f"{day_written(self.day, 'j M')}: {self.skill.title}, {self.caregiver.full_name}"

    @property
    def address(self) -> str:
        return address_of_family(self.family.public_id)


def lapses_on(
    member: Member, wanted: Collection[FamilyDay], families: Mapping[int, FamilyNamed], words: Mapping[int, Words]
) -> Mapping[FamilyDay, list[Lapse]]:
    """The lapses of these families on these days. words: of each programme, by its key."""
    found: dict[FamilyDay, list[Lapse]] = defaultdict(list)
    rows = CachedStanding.objects.filter(
        organisation=member.organisation_id,
        family__in={family for family, _ in wanted},
        start__in={day for _, day in wanted},
        standing=Standing.LAPSED.value,
    ).order_by("start", "caregiver", "skill")
    for key, day, skill, *named in rows.values_list("family_id", "start", "skill", *_CAREGIVER):
        caregiver = CaregiverNamed(*named)
        if (key, day) in wanted and _is_here(caregiver, day):
            family = families[key]
            said = words[family.programme].skill(skill)
            found[key, day].append(Lapse(family=family, caregiver=caregiver, skill=said, day=day, takes_down=False))
    return found


def next_days(member: Member, days: Iterable[FamilyDay]) -> set[FamilyDay]:
    """The next day with a lapse of each of these families, after the day given for it."""
    after: dict[date, list[int]] = defaultdict(list)
    for family, day in days:
        after[day].append(family)
    if not after:
        return set()
    which = Q()
    for day, families in after.items():
        which |= Q(family__in=families, day__gt=day)
    ahead = LapseDay.objects.visible_to(member).filter(which)
    return set(ahead.values_list("family").annotate(Min("day")))


def _is_here(caregiver: CaregiverNamed, day: date) -> bool:
    return caregiver.through is None or day <= caregiver.through
