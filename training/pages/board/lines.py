"""A family's line on the board, put into words from what is stored. Nothing is worked out here."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from competency.readiness import TEAM, Verdict
from training.curriculum.words import Words
from training.pages.board.lapses import Lapse
from training.pages.often import address_of_family, day_written
from training.standing.board_spans import SOON
from training.standing.models import BoardSpan, Trouble
from training.standing.questions import nearest_words, out_of_date

NAMED = 3  # missing things; how many more there are is counted


@dataclass(frozen=True, slots=True, kw_only=True)
class Excepted:
    """An exception as it stands beside the verdict. title: what it covers."""

    title: str
    name: str
    through: date
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Lacking:
    title: str
    lines: tuple[str, ...]
    exception: Excepted | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Team:
    """How far the team rule is met: the alternative's name, its places, and how many are filled."""

    name: str
    places: int
    filled: int
    met: bool


class Line:
    """One family on one day. lapses: those of the next day with any; on_fall: those of the day it stops being ready.

    since: when the verdict began, where a page asks for it.
    """

    since: date | None = None

    def __init__(
        self, span: BoardSpan, day: date, words: Words, lapses: Sequence[Lapse], on_fall: Sequence[Lapse]
    ) -> None:
        self.span, self.day, self.words = span, day, words
        self.family = span.family
        self.lapses = list(lapses)
        self.next_lapse = lapses[0] if lapses else None
        self.lapses_on_fall = on_fall
        self.single, self.changed = span.single, span.changed

    @property
    def is_watched(self) -> bool:
        return self.span.rank < Trouble.HANDED_OVER

    @property
    def is_closed(self) -> bool:
        return self.span.rank == Trouble.CLOSED

    @property
    def needs_attention(self) -> bool:
        return self.span.rank <= Trouble.PAUSE

    @cached_property
    def verdict(self) -> Verdict | None:
        return Verdict(self.span.verdict) if self.span.verdict else None

    @property
    def is_not_ready(self) -> bool:
        return self.verdict is not Verdict.READY

    @cached_property
    def falls(self) -> date | None:
        """When within 30 days it stops being ready."""
        falls = self.span.falls_on
        return falls if falls is not None and falls - self.day <= SOON else None

    @property
    def days_to_lapse(self) -> int | None:
        return (self.next_lapse.day - self.day).days if self.next_lapse else None

    @property
    def family_initials(self) -> str:
        """For paper: the first letter of each part of the name."""
        parts = "".join(c if c.isalnum() else " " for c in self.family.name).split()
        return " ".join(f"{part[0].upper()}." for part in parts)

    @cached_property
    def paused(self) -> list[str]:
        people = {c.case_id: c.called for c in self.family.caregivers.all()}
        return [people[id_] for id_ in self.span.paused if id_ in people]

    # Said in the table, each once: the template only places it ------------------------------------------------

    @property
    def address(self) -> str:
        return address_of_family(self.family.public_id)

    @property
    def away(self) -> str:
        """What stands in the place of a verdict, where there is none."""
        if self.is_watched:
            return "" if self.verdict else _("No verdict")
        return _("Closed") if self.is_closed else _("Handed over")

    @cached_property
    def pauses(self) -> list[str]:
        said = _("%(name)s is on pause at their own wish.") if self.is_watched and self.span.paused else ""
        return [said % {"name": name} for name in self.paused] if said else []

    @cached_property
    def why(self) -> str:
        """Why it needs attention, or will; nothing where it does not."""
        if not self.verdict:
            return _("No care plan yet")
        titles = [m.title for m in self.missing]
        if self.is_not_ready:
            more = len(titles) - NAMED
            rest = " " + ngettext("and %(n)s more", "and %(n)s more", more) % {"n": more} if more > 0 else ""
            return ", ".join(titles[:NAMED]) + rest
        if self.falls:
            return _("From %(day)s, if nothing more happens:") % {"day": _day(self.falls)} + f" {', '.join(titles)}"
        return ""

    @cached_property
    def besides(self) -> list[str]:
        """What stands under it, on paper too."""
        if not self.verdict:
            return [_("Readiness starts with a first care plan.")]
        return [_excepted_said(one) for one in self.exceptions] if self.is_not_ready else []

    @property
    def first_step(self) -> str:
        """The first thing to do about it; on the screen alone, since it may name somebody."""
        if self.besides or not self.why:
            return ""
        if self.falls and not self.is_not_ready and self.lapses_on_fall:
            said = _("%(skill)s lapses: %(name)s.")
            return " ".join(said % {"skill": x.skill.title, "name": x.caregiver.called} for x in self.lapses_on_fall)
        return " ".join(self.missing[0].lines) if self.missing else ""

    @property
    def is_quiet(self) -> bool:
        return not (self.span.paused or self.changed or self.single)

    @property
    def notes(self) -> list[str]:
        found = []
        if self.is_watched and self.changed:
            found.append(_("Something changed and is not shown again yet."))
        if self.is_watched and self.single:
            found.append(_("One person alone can do the nights."))
        return found

    @property
    def lapse_day(self) -> str:
        return day_written(self.next_lapse.day, "SHORT_DATE_FORMAT") if self.next_lapse else ""

    @property
    def lapse_soon(self) -> str:
        days = self.days_to_lapse
        if days is None or days > SOON.days:
            return ""
        return ", " + ngettext("in %(n)s day", "in %(n)s days", days) % {"n": days}

    # What is missing ----------------------------------------------------------------------------------------

    @cached_property
    def missing(self) -> list[Lacking]:
        """What is missing on the day, or on the day it stops being ready."""
        said = self.span.falls_missing if self.falls and not self.span.missing else self.span.missing
        return [self._lacking(*one) for one in said]

    @cached_property
    def exceptions(self) -> list[Excepted]:
        return [m.exception for m in self.missing if m.exception is not None]

    def _lacking(self, code: str, since: str | None, exception: Sequence[str] | None) -> Lacking:
        kind, _sep, name = code.partition(":")
        if kind == TEAM:
            title, line = _("Team"), self._team_line()
        elif kind == "item":
            title = self.words.item(name)
            line = out_of_date(date.fromisoformat(since)) if since else _("Not done yet.")
        else:
            title = self.words.fact(name)
            line = _("The care plan does not state it. What depends on it applies until it does.")
        return Lacking(title=title, lines=(line,), exception=_excepted(title, exception))

    def _team_line(self) -> str:
        if self.falls:
            return _("The team rule is not met any more.")
        if not self.span.team:
            return _("No team rule is in force.")
        return nearest_words(self.span.team, self.span.filled, self.span.places)

    # Team ---------------------------------------------------------------------------------------------------

    @cached_property
    def team(self) -> Team | None:
        """None where there is nothing to say beyond that the rule is met."""
        span = self.span
        if not span.verdict or not (self.needs_attention or self.falls):
            return None
        met = bool(span.team) and span.filled == span.places
        return Team(name=span.team, places=0 if met else span.places, filled=0 if met else span.filled, met=met)

    @cached_property
    def team_posts(self) -> list[dict[str, object]]:
        """What is drawn of it: the places of the nearest alternative as small posts, the filled ones first."""
        team = self.team
        return [{"x": 3 + 13 * i, "filled": i < team.filled} for i in range(team.places)] if team else []

    @property
    def team_width(self) -> int:
        return 4 + 13 * len(self.team_posts)

    @property
    def team_short(self) -> bool:
        """Whether it is not met by a way that can be counted."""
        return self.team is not None and not self.team.met and bool(self.team.name)

    @property
    def team_name(self) -> str:
        return self.team.name if self.team else ""

    @property
    def team_said(self) -> str:
        team = self.team
        if team is None or team.met:
            return _("Met")
        return _("%(n)s of %(of)s") % {"n": team.filled, "of": team.places} if team.name else _("No rule in force")

    @property
    def ready_said(self) -> str:
        """How many hold the first two sets."""
        ready = ", ".join(f"{title} {number}" for title, number in self.ready[:2]) if self.is_watched else ""
        return f"{_('Ready:')} {ready}" if ready else ""

    @cached_property
    def ready(self) -> list[tuple[str, int]]:
        """How many hold each set that somebody holds."""
        return [(self.words.set(name), number) for name, number in self.span.ready if number]


def _excepted_said(one: Excepted) -> str:
    said = _("Exception for “%(title)s” by %(name)s through %(day)s: %(reason)s")
    return said % {"title": one.title, "name": one.name, "day": _day(one.through), "reason": one.reason}


def _day(day: date) -> str:
    return day_written(day, "DATE_FORMAT")


def _excepted(title: str, said: Sequence[str] | None) -> Excepted | None:
    if said is None:
        return None
    name, through, reason = said
    return Excepted(title=title, name=name, through=date.fromisoformat(through), reason=reason)
