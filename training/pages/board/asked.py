"""What is asked of the board: a date, a name, what to show. The same for the page and for its files."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from competency.readiness import Verdict
from training.curriculum.models import Programme
from training.people.models import Assignment, Member
from training.standing.board_spans import SOON
from training.standing.folding import folded
from training.standing.models import BoardFamily, BoardQuerySet, BoardSpan, LapseDay, Trouble
from training.standing.sites import LONGEST, on_board, same

WITHIN = (7, 14, 30, 60, 90)  # days
ORDER = ("rank", "sort_day", "name_key", "family_id")  # as the index under each node
KEPT_APART = ("q", "language", "site")  # words that somebody typed stand in no address


class Filter(forms.Form):
    """Which families are listed. What cannot be read is left out of account."""

    q = forms.CharField(label=_("Family, patient or caregiver"), required=False, max_length=200)
    show = forms.ChoiceField(
        label=_("Show"),
        required=False,
        choices=[
            ("", _("All families")),
            ("attention", _("Needs attention")),
            ("not_ready", _("Not ready")),
            ("ready_by_exception", _("Ready by exception")),
            ("falls", _("Would need it within 30 days")),
            ("ready", _("Ready")),
            ("changed", _("A change not shown again yet")),
            ("single", _("One person alone for the nights")),
            ("closed", _("Closed files too")),
        ],
    )
    programme = forms.ChoiceField(label=_("Programme"), required=False)
    site = forms.ChoiceField(label=_("Site"), required=False)
    within = forms.ChoiceField(label=_("A lapse within"), required=False)
    educator = forms.ChoiceField(label=_("Who works with them"), required=False)
    language = forms.CharField(label=_("Interpreter’s language"), required=False, max_length=60)

    def __init__(
        self, data: Any, *, programmes: Iterable[Programme], members: Iterable[Member], sites: Iterable[str]
    ) -> None:
        super().__init__(data)
        any_of = [("", _("Any"))]
        fields: Any = self.fields
        fields["programme"].choices = any_of + [(str(p.public_id), p.title) for p in programmes]
        fields["within"].choices = any_of + [(str(n), _("%(n)s days") % {"n": n}) for n in WITHIN]
        fields["educator"].choices = any_of + [(str(m.public_id), m.user.full_name) for m in members]
        self._offer_sites(list(sites), any_of)

    def _offer_sites(self, sites: list[str], any_of: list[Any]) -> None:
        """One asked for that no family has any more stays asked for: the board then says that no family fits."""
        asked = self.data.get("site", "")
        if asked.strip() and asked not in sites and len(asked) <= LONGEST and asked.isprintable():
            there = [asked if same(one) == same(asked) else one for one in sites]
            sites = there if asked in there else [*there, asked]
        fields: Any = self.fields
        fields["site"].choices = any_of + [(one, one) for one in sites]
        if not sites:
            del fields["site"]  # an organisation that names no sites is not asked for one

    @cached_property
    def asked(self) -> dict[str, str]:
        """What is asked for and can be read."""
        self.is_valid()
        return {name: value for name, value in self.cleaned_data.items() if value}


class Asked:
    """The board's question: a member's families on a day, and which of them."""

    def __init__(self, member: Member, day: date, now: datetime, asked: Mapping[str, str]) -> None:
        self.member, self.day, self.now, self.asked = member, day, now, asked
        self.closed = asked.get("show") == "closed"

    def every(self, under: Collection[int] | None = None) -> BoardQuerySet:
        """All families on the day, closed ones too, whatever is looked for among them. under: only these nodes."""
        return BoardSpan.objects.visible_to(self.member).on(self.day, under)

    def found(self, under: Collection[int] | None = None) -> BoardQuerySet:
        """Those that are asked for, the most troubled first."""
        rows = self.every(under) if self.closed else self.every(under).filter(rank__lt=Trouble.CLOSED)
        rows = _shown(rows, self.asked.get("show", ""), self.day)
        if "q" in self.asked:
            rows = rows.filter(family__on_board__names__contains=folded(self.asked["q"]))
        if "language" in self.asked:
            rows = rows.filter(family__on_board__languages__contains=folded(self.asked["language"]))
        if "programme" in self.asked:
            rows = rows.filter(family__on_board__programme__public_id=self.asked["programme"])
        if "site" in self.asked:
            rows = rows.filter(family__on_board__site__in=self._spellings)
        if "educator" in self.asked:
            rows = rows.filter(family__in=self._assigned(self.asked["educator"]))
        if "within" in self.asked:
            last = self.day + min(timedelta(days=int(self.asked["within"])), date.max - self.day)
            soon = LapseDay.objects.visible_to(self.member).filter(day__gt=self.day, day__lte=last)
            rows = rows.filter(family__in=soon.values("family"), rank__lt=Trouble.HANDED_OVER)
        return rows.order_by(*ORDER)

    @cached_property
    def _spellings(self) -> list[str]:
        """How the families' files spell the site that is asked for."""
        sites = on_board(BoardFamily.objects.visible_to(self.member))
        return next((own for one, own in sites.items() if same(one) == same(self.asked["site"])), [])

    def _assigned(self, educator: str) -> Any:
        colleague = Member.objects.visible_to(self.member).filter(public_id=educator).first()
        return Assignment.objects.of(colleague).at(self.now).values("family") if colleague else []


def _shown(rows: BoardQuerySet, show: str, day: date) -> BoardQuerySet:
    if show in ("", "closed"):
        return rows
    rows = rows.filter(rank__lt=Trouble.HANDED_OVER)
    if show == "attention":
        return rows.filter(rank__lte=Trouble.PAUSE)
    if show == "falls":
        return rows.filter(falls_on__lte=day + min(SOON, date.max - day))
    if show == "not_ready":
        return rows.filter(verdict__in=("", Verdict.NOT_READY.value))
    if show in ("changed", "single"):
        return rows.filter(**{show: True})
    return rows.filter(verdict=show)
