"""The board: all families on one date, those that need attention first."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cached_property
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.http import urlencode

from training.curriculum.models import Programme
from training.log.writing import About, many
from training.pages.asked import TOKEN, keep_asked, was_asked
from training.pages.board.asked import KEPT_APART, Asked, Filter
from training.pages.board.lines import Line
from training.pages.board.looking import PAGE, Looking, between
from training.pages.board.paging import page_asked
from training.pages.views import MemberView
from training.people.access import Right
from training.people.models import Member
from training.standing.models import BoardFamily, SavedFilter, Trouble
from training.standing.sites import on_board

MORE = ("programme", "site", "within", "educator", "language")  # asked for under "more"
SAVED = 20  # filters of one member
KEEPS = Right.SET_UP  # whoever may keep a filter: an auditor writes nothing


class BoardView(MemberView):
    """What the board, its files and its saved filters share: the date, and what is asked for."""

    right = Right.READ

    @cached_property
    def today(self) -> date:
        """Of the organisation: one board answers for one date, wherever its families are."""
        return self.member.today(self.now)

    @cached_property
    def day(self) -> date:
        return self.day_asked(self.today)

    @cached_property
    def programmes(self) -> list[Programme]:
        return list(Programme.objects.visible_to(self.member).only("pk", "public_id", "title", "version"))

    @cached_property
    def sites(self) -> list[str]:
        """Those in use in the families this member may see."""
        return list(on_board(BoardFamily.objects.visible_to(self.member)))

    @cached_property
    def saved(self) -> list[SavedFilter]:
        return list(SavedFilter.objects.visible_to(self.member))

    def form_of(self, data: Mapping[str, Any]) -> Filter:
        colleagues = Member.objects.visible_to(self.member).filter(through=None).select_related("user")
        return Filter(data, programmes=self.programmes, members=colleagues, sites=self.sites)

    @cached_property
    def form(self) -> Filter:
        """Filled with what the address asks for, or with the saved filter it names."""
        query = self.request.GET
        named = next((one for one in self.saved if str(one.public_id) == query.get("saved")), None)
        if named is not None:
            return self.form_of(named.asked)
        return self.form_of({**query.dict(), **dict.fromkeys(KEPT_APART, ""), **was_asked(self.request, "board")})

    @cached_property
    def looking(self) -> Looking:
        return Looking(Asked(self.member, self.day, self.now, self.form.asked), self.programmes)

    def query(self, **changes: object) -> str:
        """The address's query with these changes; what is empty is left out."""
        kept = {"on": self.day.isoformat() if self.day != self.today else ""}
        for name in ("show", "programme", "within", "educator", "saved", TOKEN):
            kept[name] = self.request.GET.get(name, "")
        found = {name: value for name, value in {**kept, **changes}.items() if value}
        return f"?{urlencode(found)}" if found else ""


class Board(BoardView):
    """A sentence, the lapses ahead, the families in three groups, a page at a time."""

    over_families = True

    def reading(self) -> tuple[str, About | None]:
        return "board", many(self.shown)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Keep the words that are looked for out of the address."""
        asked = self.form_of(request.POST).asked
        token = keep_asked(request, "board", {name: asked.pop(name, "") for name in KEPT_APART})
        chosen = {name: asked.get(name, "") for name in ("show", "programme", "within", "educator")}
        return redirect(f"{reverse('board')}{self.query(**chosen, saved='', **{TOKEN: token})}")

    @property
    def may_save(self) -> bool:
        """Whether what is asked for can be kept as one more filter."""
        is_new = bool(self.form.asked) and not self.request.GET.get("saved")
        return is_new and self.may(KEEPS) and len(self.saved) < SAVED

    def get(self, request: HttpRequest) -> HttpResponse:
        looking = self.looking
        counts, found = looking.counts, looking.found_counts
        self.shown = sum(found.values())
        number, pages = page_asked(request, self.shown, PAGE)
        ahead = looking.weeks()
        page = {
            "the_date": self.day,
            "today": self.today,
            "on": f"?on={self.day.isoformat()}" if self.day != self.today else "",
            "query": self.query(),
            "form": self.form,
            "more_asked": any(self.form.asked.get(name) for name in MORE),
            "saved": self.saved,
            "may_save": self.may_save,
            "may_export": self.may(Right.EXPORT),
            "total": sum(counts.values()),
            "shown": self.shown,
            "waiting": looking.waiting,
            "attention_count": between(counts, Trouble.TEAM, Trouble.PAUSE),
            "falls_count": between(counts, Trouble.FALLING, Trouble.FALLING),
            **_groups(looking.page(number), found),
            "page_number": number,
            "pages": pages,
            "earlier": self.query(page=number - 1) if number > 1 else "",
            "later": self.query(page=number + 1) if number < pages else "",
            "weeks": ahead,
            "lapse_count": sum(week.number for week in ahead),
            "sole_count": sum(week.sole for week in ahead),
        }
        return render(request, "board/board.html", page)


def _groups(lines: list[Line], found: Mapping[int, int]) -> dict[str, Any]:
    """The lines of the page by group, and how many families each group has on all pages."""
    return {
        "attention": [line for line in lines if line.needs_attention],
        "falling": [line for line in lines if line.span.rank == Trouble.FALLING],
        "calm": [line for line in lines if line.span.rank > Trouble.FALLING],
        "attention_found": between(found, Trouble.TEAM, Trouble.PAUSE),
        "falling_found": between(found, Trouble.FALLING, Trouble.FALLING),
        "calm_found": between(found, Trouble.NONE, Trouble.CLOSED),
    }
