"""The board read from what is stored: so many questions, however many families there are."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cached_property
from typing import Any

from django.db.models import Count, Sum

from training.curriculum.models import Programme
from training.curriculum.words import Words
from training.pages.board.asked import Asked
from training.pages.board.first_rows import first_rows
from training.pages.board.lapses import FamilyNamed, Lapse, lapses_on
from training.pages.board.lines import Line
from training.pages.board.telling import lines_of
from training.pages.board.weeks import Week, last_day, monday_of, weeks
from training.people.models import Family, Member
from training.standing.cache import FORM
from training.standing.file import words_in
from training.standing.models import BoardQuerySet, BoardSpan, CacheState, LapseDay, Trouble

PAGE = 50  # families
LISTED = 100  # days with lapses that are told with their people
_FAMILY = ("family_id", "family__public_id", "family__name", "family__on_board__programme_id")


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
        return counted(self.asked.found()) if narrowed else self.counts

    @cached_property
    def _every_count(self) -> Mapping[int, int]:
        return counted(self.asked.every())

    @cached_property
    def waiting(self) -> int:
        families = Family.objects.visible_to(self.member).count()
        return not_worked_out(self.member, families, sum(self._every_count.values()))

    def page(self, number: int) -> list[Line]:
        """The lines of a page, counted from 1."""
        return self.lines(first_rows(self.asked, (number - 1) * PAGE, number * PAGE))

    def lines(self, spans: list[BoardSpan]) -> list[Line]:
        return lines_of(self.member, [(span, self.day) for span in spans], self.words)

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
        families = {key: FamilyNamed(*named) for _day, _down, key, *named in days}
        lapses = lapses_on(self.member, wanted.keys(), families, self.words)
        for key, found in lapses.items():
            for lapse in found:
                yield replace(lapse, takes_down=wanted[key])


def counted(rows: BoardQuerySet) -> Mapping[int, int]:
    """By the index alone, which has neither the key nor what the line says."""
    return dict(rows.order_by().values_list("rank").annotate(number=Count("*")))


def not_worked_out(member: Member, families: int, with_line: int) -> int:
    """How many families have no line yet, or one of an older form: `rebuild_standing` was not run since.

    Who has lines has one for every day, so those without are the difference.
    """
    old = CacheState.objects.visible_to(member).filter(form__lt=FORM, family__on_board__isnull=False)
    return families - with_line + old.count()


def between(counts: Mapping[int, int], first: Trouble, last: Trouble) -> int:
    return sum(number for rank, number in counts.items() if first <= rank <= last)
