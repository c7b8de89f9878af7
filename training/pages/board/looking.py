"""The board read from what is stored: so many questions, however many families there are."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from functools import cached_property
from typing import Any

from django.db.models import Count, Min, Sum

from competency.standing import Standing
from training.curriculum.models import Programme
from training.curriculum.words import Words
from training.pages.board.asked import Asked
from training.pages.board.first_rows import first_rows
from training.pages.board.lines import Line, lines_of
from training.pages.board.overview import CaregiverNamed, FamilyNamed, Lapse, is_here
from training.pages.board.weeks import Week, last_day, monday_of, weeks
from training.people.models import Family
from training.standing.cache import FORM
from training.standing.file import words_in
from training.standing.models import BoardQuerySet, BoardSpan, CachedStanding, CacheState, LapseDay, Trouble

PAGE = 50  # families
LISTED = 100  # days with lapses that are told with their people
_FAMILY = ("family_id", "family__public_id", "family__name", "family__on_board__programme_id")
_CAREGIVER = ("caregiver__full_name", "caregiver__called", "caregiver__through")


class Looking:
    """One look at the board. programmes: those of the organisation."""

    def __init__(self, asked: Asked, programmes: Collection[Programme]) -> None:
        self.asked, self.day, self.member = asked, asked.day, asked.member
        self.programmes = programmes

    @cached_property
    def words(self) -> Mapping[int, Words]:
        return {programme.pk: words_in(programme.pk, programme.version) for programme in self.programmes}

    @cached_property
    def counts(self) -> Mapping[int, int]:
        """How many families there are of each rank, closed ones where they are asked for."""
        return {rank: n for rank, n in self._every_count.items() if self.asked.closed or rank != Trouble.CLOSED}

    @cached_property
    def found_counts(self) -> Mapping[int, int]:
        narrowed = self.asked.asked.keys() - {"show"} or self.asked.asked.get("show") not in (None, "closed")
        return _counted(self.asked.found()) if narrowed else self.counts

    @cached_property
    def _every_count(self) -> Mapping[int, int]:
        return _counted(self.asked.every())

    @cached_property
    def waiting(self) -> int:
        """How many families have no line yet, or one of an older form: `rebuild_standing` was not run since.

        Who has lines has one for every day, so those without are the difference.
        """
        families = Family.objects.visible_to(self.member)
        old = CacheState.objects.visible_to(self.member).filter(form__lt=FORM, family__on_board__isnull=False)
        return families.count() - sum(self._every_count.values()) + old.count()

    def page(self, number: int) -> list[Line]:
        """The lines of a page, counted from 1."""
        return self.lines(first_rows(self.asked, (number - 1) * PAGE, number * PAGE))

    def lines(self, spans: list[BoardSpan]) -> list[Line]:
        families = {span.family_id for span in spans if span.rank < Trouble.HANDED_OVER}
        ahead = LapseDay.objects.visible_to(self.member).filter(family__in=families, day__gt=self.day)
        first = ahead.values_list("family").annotate(Min("day"))
        falling = {(s.family_id, s.falls_on) for s in spans if s.falls_on and s.rank <= Trouble.FALLING}
        lapses = self._lapses({*first, *falling}, {span.family_id: _named(span) for span in spans})
        return lines_of(
            spans,
            self.day,
            self.words,
            {family: lapses[family, day] for family, day in first},
            {family: lapses[family, day] for family, day in falling if day is not None},
        )

    def _lapses(
        self, wanted: Collection[tuple[int, date]], families: Mapping[int, FamilyNamed]
    ) -> Mapping[tuple[int, date], list[Lapse]]:
        """The lapses of these families on these days, told with their people."""
        found: dict[tuple[int, date], list[Lapse]] = defaultdict(list)
        rows = CachedStanding.objects.filter(
            organisation=self.member.organisation_id,
            family__in={family for family, _ in wanted},
            start__in={day for _, day in wanted},
            standing=Standing.LAPSED.value,
        ).order_by("start", "caregiver", "skill")
        for key, day, skill, *named in rows.values_list("family_id", "start", "skill", *_CAREGIVER):
            caregiver = CaregiverNamed(*named)
            if (key, day) in wanted and is_here(caregiver, day):
                family = families[key]
                words = self.words[family.programme].skill(skill)
                found[key, day].append(
                    Lapse(family=family, caregiver=caregiver, skill=words, day=day, takes_down=False)
                )
        return found

    # Lapses ahead -------------------------------------------------------------------------------------------

    def weeks(self) -> list[Week]:
        monday = monday_of(self.day)
        days = LapseDay.objects.visible_to(self.member).filter(day__gt=self.day, day__lte=last_day(monday))
        counted = days.values_list("day", "takes_down").annotate(Sum("number"))
        told = days.order_by("day", "family_id").values_list("day", "takes_down", *_FAMILY)[:LISTED]
        counts = {(day, down): number for day, down, number in counted}
        return weeks(list(self._told(list(told))), self.day, counts)

    def _told(self, days: Iterable[tuple[Any, ...]]) -> Iterator[Lapse]:
        wanted = {(family, day): takes_down for day, takes_down, family, *_named in days}
        lapses = self._lapses(wanted.keys(), {key: FamilyNamed(*named) for _day, _down, key, *named in days})
        for key, found in lapses.items():
            for lapse in found:
                yield replace(lapse, takes_down=wanted[key])


def _counted(rows: BoardQuerySet) -> Mapping[int, int]:
    """By the index alone, which has neither the key nor what the line says."""
    return dict(rows.order_by().values_list("rank").annotate(number=Count("*")))


def _named(span: BoardSpan) -> FamilyNamed:
    return FamilyNamed(span.family.public_id, span.family.name, span.family.on_board.programme_id)


def between(counts: Mapping[int, int], first: Trouble, last: Trouble) -> int:
    return sum(number for rank, number in counts.items() if first <= rank <= last)
