"""The editions of one skill: the list with its change notes, and any two side by side."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

from training.curriculum.comparing import compare
from training.curriculum.models import Edition
from training.pages.board.curriculum import ProgrammeView
from training.people.access import Right
from training.records.models import Record

DRAFT = "draft"


class Editions(ProgrammeView):
    """Every edition of a skill, newest first: since when, what changed, who published it; and the choice of two."""

    def find(self) -> None:
        if not self.editions and self.kwargs["skill"] not in self.words.skills:
            raise Http404

    @cached_property
    def editions(self) -> list[Edition]:
        rows = self.programme.editions.filter(skill=self.kwargs["skill"])
        return list(rows.order_by("-number"))

    def get(self, request: HttpRequest, programme: Any, skill: str) -> HttpResponse:
        who = self.published_by()
        page = {
            "programme": self.programme,
            "words": self.words,
            "skill": self.words.skill(skill),
            "editions": [
                {"row": e, "note": e.body.get("change_note", ""), "by": who.get(e.number, "")} for e in self.editions
            ],
            "has_draft": self.may(Right.DRAFT) and self.programme.drafts.filter(skill=skill).exists(),
            "today": self.member.today(self.now),
        }
        return render(request, "curriculum/editions.html", page)

    def published_by(self) -> dict[int, str]:
        """Each edition's number with who signed it; nothing for one that came from a file."""
        records = Record.objects.of_chain(self.programme.public_id).filter(kind="edition")
        own = [r.data for r in records if r.data["skill"] == self.kwargs["skill"]]
        return {data["edition"]: data["signed"]["name"] for data in own if "signed" in data}


class Compare(Editions):
    """Two editions, or one and the draft: ``?old=1&new=2``, ``?old=2&new=draft``."""

    def get(self, request: HttpRequest, programme: Any, skill: str) -> HttpResponse:
        old, new = self.side("old"), self.side("new")
        page = {
            "programme": self.programme,
            "words": self.words,
            "skill": self.words.skill(skill),
            "old": old,
            "new": new,
            "found": compare(old["body"], new["body"], self.words),
        }
        return render(request, "curriculum/compare.html", page)

    def side(self, name: str) -> dict[str, Any]:
        """One edition, or the draft as if it were one; 404 for what is not there."""
        asked = self.request.GET.get(name, "")
        if asked == DRAFT and self.may(Right.DRAFT):
            draft = self.programme.drafts.filter(skill=self.kwargs["skill"]).first()
            if draft is None:
                raise Http404
            return {"title": _("The draft"), "body": {"edition": 0, **draft.body["edition"]}, "since": None}
        found = next((e for e in self.editions if str(e.number) == asked), None)
        if found is None:
            raise Http404
        return {"title": _("Edition %(n)s") % {"n": found.number}, "body": found.body, "since": found.in_force_from}
