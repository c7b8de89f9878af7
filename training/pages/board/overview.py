"""All families of an organisation at a glance, from the stored spans; the reasons from `FamilyOn`.

A fixed number of queries, whatever the number of families.
"""

from __future__ import annotations

import uuid
from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import NamedTuple

from django.urls import reverse
from django.utils.formats import date_format

from competency.answer import team_gap
from competency.readiness import Verdict
from competency.standing import Standing
from training.curriculum.models import Programme
from training.curriculum.words import SkillWords
from training.documents.record_words import ExceptionShown, exceptions_of
from training.people.models import Caregiver, Family, Member
from training.people.reminding import is_watched
from training.records.models import Record
from training.standing.file import FamilyFile, words_in
from training.standing.models import CachedStanding, CachedVerdict
from training.standing.pausing import pauses_of
from training.standing.questions import FamilyOn, MissingShown

SOON = 30  # days


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

    family: Family | FamilyNamed
    caregiver: Caregiver | CaregiverNamed
    skill: SkillWords
    day: date
    takes_down: bool

    @property
    def said(self) -> str:
        return f"{date_format(self.day, 'j M')}: {self.skill.title}, {self.caregiver.full_name}"

    @property
    def address(self) -> str:
        return reverse("family", args=[self.family.public_id])


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """How far the team rule is met: the alternative's name, its places, and how many are filled."""

    name: str
    places: int
    filled: int
    met: bool


class Posts:
    """What is drawn of a team: the places of the nearest alternative as small posts, the filled ones first."""

    @property
    def team(self) -> Team | None:
        raise NotImplementedError

    @cached_property
    def team_posts(self) -> list[dict[str, object]]:
        team = self.team
        return [{"x": 3 + 13 * i, "filled": i < team.filled} for i in range(team.places)] if team else []

    @property
    def team_width(self) -> int:
        return 4 + 13 * len(self.team_posts)


@dataclass(kw_only=True, eq=False)
class FamilyRow(Posts):
    """One family. verdict: None before its first care plan. falls: when within 30 days it stops being ready."""

    family: Family
    day: date
    verdict: Verdict | None
    since: date | None
    falls: date | None
    lapses: list[Lapse]
    paused: list[str]
    open: Callable[[date], FamilyOn]
    is_watched: bool = True

    @property
    def needs_attention(self) -> bool:
        return self.is_watched and (self.is_not_ready or bool(self.paused))

    @property
    def is_not_ready(self) -> bool:
        return self.verdict is not Verdict.READY

    @property
    def is_closed(self) -> bool:
        return self.family.is_closed_on(self.day)

    @property
    def next_lapse(self) -> Lapse | None:
        return self.lapses[0] if self.lapses else None

    @property
    def days_to_lapse(self) -> int | None:
        return (self.lapses[0].day - self.day).days if self.lapses else None

    @cached_property
    def picture(self) -> FamilyOn:
        """The family on the day that matters: the date, or the day on which it would stop being ready."""
        return self.open(self.falls or self.day)

    @cached_property
    def missing(self) -> list[MissingShown]:
        """What is missing, worked out only where something is or soon will be."""
        return self.picture.missing if self.verdict and (self.needs_attention or self.falls) else []

    @cached_property
    def exceptions(self) -> list[ExceptionShown]:
        return exceptions_of(self.missing)

    @cached_property
    def team(self) -> Team | None:
        """None where nothing is worked out for this family: the rule is met, or there is no care plan."""
        if self.verdict is None or not (self.needs_attention or self.falls):
            return None
        picture = self.open(self.day) if self.falls else self.picture
        met = picture.team_met_by
        gap = team_gap(picture.history, self.day)
        if met or gap["nearest"] is None:
            return Team(name=met or "", places=0, filled=0, met=bool(met))
        return Team(name=gap["nearest"], places=gap["places"], filled=gap["filled"], met=False)

    @property
    def family_initials(self) -> str:
        """For paper: the first letter of each part of the name."""
        return initials(self.family.name)

    @property
    def lapses_on_fall(self) -> list[Lapse]:
        return [lapse for lapse in self.lapses if lapse.day == self.falls]


class Overview:
    """The families visible to a member. day_of: the date each one is asked about. closed: those closed by then too."""

    def __init__(self, member: Member, day_of: Callable[[Family], date], *, closed: bool = False) -> None:
        self.member = member
        self.day_of = day_of
        self.closed = closed

    @cached_property
    def _all(self) -> list[Family]:
        rows = Family.objects.visible_to(self.member).select_related("organisation", "enrolment__programme")
        return list(rows.prefetch_related("caregivers"))

    @cached_property
    def families(self) -> list[Family]:
        return [f for f in self._all if self.closed or not f.is_closed_on(self.day_of(f))]

    @property
    def closed_count(self) -> int:
        return sum(f.is_closed_on(self.day_of(f)) for f in self._all)

    @cached_property
    def rows(self) -> list[FamilyRow]:
        return [self._row(family) for family in self.families]

    def _row(self, family: Family) -> FamilyRow:
        day = self.day_of(family)
        spans = self._verdicts[family.pk]
        now = next((s for s in spans if s.start <= day and (s.through is None or s.through >= day)), None)
        verdict = Verdict(now.verdict) if now else None
        watched = is_watched(family, day)
        return FamilyRow(
            family=family,
            day=day,
            verdict=verdict,
            since=now.start if now else None,
            falls=self._falls(spans, day) if verdict is Verdict.READY and watched else None,
            lapses=self._lapses(family, day) if watched else [],
            paused=self._paused(family, day) if watched else [],
            is_watched=watched,
            open=lambda when: FamilyOn(self._file(family), when),
        )

    @staticmethod
    def _falls(spans: Iterable[CachedVerdict], day: date) -> date | None:
        worse = [s.start for s in spans if day < s.start and s.verdict != Verdict.READY.value]
        first = min(worse, default=None)
        return first if first is not None and (first - day).days <= SOON else None

    # Stored spans -------------------------------------------------------------------------------------------

    @cached_property
    def _verdicts(self) -> dict[int, list[CachedVerdict]]:
        found = defaultdict(list)
        for span in CachedVerdict.objects.filter(family__in=self.families).order_by("start"):
            found[span.family_id].append(span)
        return found

    @cached_property
    def _lapsed(self) -> dict[int, list[CachedStanding]]:
        rows = CachedStanding.objects.filter(
            family__in=self.families, standing=Standing.LAPSED.value, start__gt=self._earliest
        ).select_related("caregiver")
        found = defaultdict(list)
        for span in rows.order_by("start", "caregiver", "skill"):
            found[span.family_id].append(span)
        return found

    @cached_property
    def _earliest(self) -> date:
        return min((self.day_of(f) for f in self.families), default=date.min)

    def _lapses(self, family: Family, day: date) -> list[Lapse]:
        programme = family.enrolment.programme
        words = words_in(programme.pk, programme.version)
        down = {s.start for s in self._verdicts[family.pk] if s.verdict == Verdict.NOT_READY.value}
        return [
            Lapse(
                family=family,
                caregiver=span.caregiver,
                skill=words.skill(span.skill),
                day=span.start,
                takes_down=span.start in down,
            )
            for span in self._lapsed[family.pk]
            if span.start > day and is_here(span.caregiver, span.start)
        ]

    # Pauses -------------------------------------------------------------------------------------------------

    @cached_property
    def _holds(self) -> dict[object, list[Record]]:
        """The holds of every family and what voids them, read at once."""
        chains = [family.public_id for family in self.families]
        found = defaultdict(list)
        for record in Record.objects.filter(chain__in=chains, kind__in=("hold", "void")).order_by("chain", "number"):
            found[record.chain].append(record)
        return found

    def _paused(self, family: Family, day: date) -> list[str]:
        """Who has put themself on pause and is in the family on the day, as they are called."""
        people = {c.case_id: c.called for c in family.caregivers.all() if is_here(c, day)}
        pauses = pauses_of(self._holds[family.public_id], day)
        return [people[p.caregiver] for p in pauses if p.caregiver in people]

    # Files --------------------------------------------------------------------------------------------------

    @cached_property
    def _records(self) -> dict[object, list[Record]]:
        """The records of the families whose reasons are told, and the organisation's own, read at once."""
        chains = [r.family.public_id for r in self.rows if r.needs_attention or r.falls]
        chains.append(self.member.organisation.public_id)
        found = defaultdict(list)
        for record in Record.objects.filter(chain__in=chains).order_by("chain", "number"):
            found[record.chain].append(record)
        return found

    def _file(self, family: Family) -> FamilyFile:
        programme: Programme = family.enrolment.programme
        staff = self._records[self.member.organisation.public_id]
        return FamilyFile(family, self._records[family.public_id], staff, programme)


def initials(name: str) -> str:
    """For paper: the first letter of each part of a name."""
    parts = "".join(c if c.isalnum() else " " for c in name).split()
    return " ".join(f"{part[0].upper()}." for part in parts)


def is_here(caregiver: Caregiver | CaregiverNamed, day: date) -> bool:
    return caregiver.through is None or day <= caregiver.through
