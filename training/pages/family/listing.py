"""The families a member sees by name, each on its own today, read from what is stored: so many questions for a page.

Dates are another thing in each time zone, but there are three at most at one instant. Of each family the one span is
taken that contains its own; where all families have the same date, as nearly always, by the index alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from functools import cached_property
from zoneinfo import ZoneInfo

from django.db.models import Count, F, Q

from training.pages.board.lines import Line
from training.pages.board.looking import counted, not_worked_out
from training.pages.board.telling import lines_of
from training.people.models import Family, Member
from training.standing.days_tree import nodes_of
from training.standing.file import words_in
from training.standing.models import BoardQuerySet, BoardSpan, CachedVerdict, Trouble

ORDER = ("name_key", "family_id")


class Listing:
    """closed: the closed ones too."""

    def __init__(self, member: Member, now: datetime, *, closed: bool) -> None:
        self.member, self.now, self.closed = member, now, closed

    @cached_property
    def number(self) -> int:
        """How many are listed, on all pages."""
        return sum(self._counts.values()) - (0 if self.closed else self.closed_count)

    @property
    def closed_count(self) -> int:
        return self._counts.get(Trouble.CLOSED, 0)

    @property
    def waiting(self) -> int:
        """How many are not worked out yet, or by an older version."""
        return not_worked_out(self.member, sum(self._zones.values()), sum(self._counts.values()))

    def lines(self, start: int, end: int) -> list[Line]:
        """From start on and before end, by name."""
        listed = self._every if self.closed else self._every.filter(rank__lt=Trouble.CLOSED)
        shown = listed.order_by(*ORDER).values("family_id")[start:end]  # by the index, before their rows are read
        rows = self._every.filter(family__in=shown).order_by(*ORDER)
        rows = rows.select_related("family__on_board").prefetch_related("family__caregivers")
        spans = list(rows.annotate(version=F("family__on_board__programme__version")))
        versions = {s.family.on_board.programme_id: s.version for s in spans}
        lines = lines_of(
            self.member,
            [(span, span.family.today(self.now)) for span in spans],
            {programme: words_in(programme, version) for programme, version in versions.items()},
        )
        began = self._began(lines)
        for line in lines:
            line.since = began.get(line.family.pk)
        return lines

    # Whose today is when ------------------------------------------------------------------------------------

    @cached_property
    def _zones(self) -> Mapping[str, int]:
        """How many families each time zone has."""
        zones = Family.objects.visible_to(self.member).order_by().values_list("time_zone")
        return dict(zones.annotate(number=Count("pk")))

    @cached_property
    def _days(self) -> Mapping[date, list[str]]:
        """The dates it is now, and in which time zones."""
        found: dict[date, list[str]] = defaultdict(list)
        for zone in self._zones:
            found[self.now.astimezone(ZoneInfo(zone)).date()].append(zone)
        return found

    @property
    def _every(self) -> BoardQuerySet:
        """Of each family the span that contains its own today."""
        rows = BoardSpan.objects.visible_to(self.member)
        if len(self._days) == 1:
            return rows.on(*self._days)
        own = Q()
        for day, zones in self._days.items():
            own |= Q(family__time_zone__in=zones, first_day__lte=day, last_day__gte=day)
        return rows.filter(own, node__in={node for day in self._days for node in nodes_of(day)})

    # What is stored -----------------------------------------------------------------------------------------

    @cached_property
    def _counts(self) -> Mapping[int, int]:
        """By rank, closed ones too."""
        return counted(self._every)

    @staticmethod
    def _began(lines: Sequence[Line]) -> Mapping[int, date]:
        """Since when each family has its verdict."""
        days = {line.family.pk: line.day for line in lines}
        spans = CachedVerdict.objects.filter(family__in=days, start__lte=max(days.values(), default=date.min))
        own = spans.filter(Q(through=None) | Q(through__gte=min(days.values(), default=date.min)))
        return {
            family: start
            for family, start, through in own.values_list("family_id", "start", "through")
            if start <= days[family] and (through is None or days[family] <= through)
        }
