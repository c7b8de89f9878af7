"""The board: all families on one date, those that need attention first."""

from __future__ import annotations

import unicodedata
from datetime import date
from functools import cached_property

from django import forms
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext_lazy as _

from competency.readiness import Verdict
from training.log.writing import About, many
from training.pages.asked import TOKEN, keep_asked, was_asked
from training.pages.board.overview import FamilyRow, Overview
from training.pages.board.weeks import weeks
from training.pages.views import MemberView, day_asked
from training.people.access import Right

ORDER = {None: 0, Verdict.NOT_READY: 0, Verdict.READY_BY_EXCEPTION: 1, Verdict.READY: 2}


def folded(text: str) -> str:
    """Letters as they are compared: without case and accents, either apostrophe."""
    parts = unicodedata.normalize("NFKD", text.replace("’", "'").casefold())
    return "".join(c for c in parts if not unicodedata.combining(c)).casefold()


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
            ("closed", _("Closed files too")),
        ],
    )

    def keeps(self, row: FamilyRow) -> bool:
        asked = self.cleaned_data if self.is_valid() else {}
        return _named(row, folded(asked.get("q", ""))) and _shown(row, asked.get("show", ""))


def _named(row: FamilyRow, wanted: str) -> bool:
    people = (p for c in row.family.caregivers.all() for p in (c.full_name, c.called))
    names = (row.family.name, row.family.patient_name, row.family.patient_called, *people)
    return any(wanted in folded(name) for name in names)


def _shown(row: FamilyRow, show: str) -> bool:
    if show == "closed" or not row.is_watched:
        return show in ("", "closed")
    if show == "attention":
        return row.needs_attention
    if show == "falls":
        return row.falls is not None
    if show == "not_ready":
        return row.verdict in (None, Verdict.NOT_READY)
    return not show or row.verdict == show


def _place(row: FamilyRow) -> tuple[int, date, str]:
    """What needs attention first, then what soonest will, then by name."""
    return ORDER[row.verdict], row.falls or date.max, folded(row.family.name)


class Board(MemberView):
    """A sentence, the lapses ahead, the families in three groups."""

    right = Right.READ

    def reading(self) -> tuple[str, About | None]:
        return "board", many(self.shown)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Keep the name that is looked for out of the address."""
        form = Filter(request.POST)
        asked = form.cleaned_data if form.is_valid() else {}
        token = keep_asked(request, "board", {"q": asked.get("q", "")})
        day = day_asked(request, self.today)
        query = {"on": day.isoformat() if day != self.today else "", "show": asked.get("show", ""), TOKEN: token}
        kept = urlencode({name: value for name, value in query.items() if value})
        return redirect(f"{reverse('board')}?{kept}" if kept else "board")

    @cached_property
    def today(self) -> date:
        """Of the organisation: one board answers for one date, wherever its families are."""
        return self.member.today(self.now)

    def get(self, request: HttpRequest) -> HttpResponse:
        day = day_asked(request, self.today)
        form = Filter({"show": request.GET.get("show", ""), **was_asked(request, "board")})
        overview = Overview(self.member, lambda family: day, closed=request.GET.get("show") == "closed")
        rows = sorted(overview.rows, key=_place)
        shown = [row for row in rows if form.keeps(row)]
        self.shown = len(shown)
        ahead = weeks([lapse for row in rows for lapse in row.lapses], day)
        page = {
            "the_date": day,
            "today": self.today,
            "on": f"?on={day.isoformat()}" if day != self.today else "",
            "form": form,
            "total": len(rows),
            "shown": len(shown),
            "attention_count": sum(1 for row in rows if row.needs_attention),
            "falls_count": sum(1 for row in rows if row.falls),
            "attention": [row for row in shown if row.needs_attention],
            "falling": [row for row in shown if row.falls and not row.needs_attention],
            "calm": [row for row in shown if not row.needs_attention and not row.falls],
            "weeks": ahead,
            "lapse_count": sum(len(week.lapses) for week in ahead),
            "sole_count": sum(1 for week in ahead for post in week.posts if post.sole),
        }
        return render(request, "board/board.html", page)
