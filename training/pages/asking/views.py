"""The questions with their links, and the answers that go across families. An answer names many: logged by number."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from training.documents.record_labels import KINDS
from training.log.writing import About, many
from training.pages.asking.questions import NOBODY, TITLES, questions
from training.pages.views import MemberView
from training.people.access import Right
from training.standing.entries_over import ASKED, LOOKED_THROUGH, Entry, entries_over
from training.standing.file import words_in
from training.standing.questions import written


class Questions(MemberView):
    right = Right.READ

    def get(self, request: HttpRequest) -> HttpResponse:
        return render(request, "asking/questions.html", {"questions": questions(self.member.today(self.now))})


class Answered(MemberView):
    """Entries of one sort over all the families this member may see, the newest first."""

    right = Right.READ
    over_families = True
    names_families = 0

    def find(self) -> None:
        if self.kwargs["question"] not in ASKED:
            raise Http404

    def get(self, request: HttpRequest, question: str) -> HttpResponse:
        found = entries_over(self.member, ASKED[question], self.now)
        self.names_families = len({entry.family.pk for entry in found.lines})
        page = {
            "title": TITLES[question],
            "lines": [_line(entry) for entry in found.lines],
            "more": found.more,
            "cut": LOOKED_THROUGH if found.cut else 0,
            "nobody": NOBODY[question] % {"day": written(self.member.today(self.now))},
        }
        return render(request, "asking/answered.html", page)

    def reading(self) -> tuple[str, About | None]:
        return "board", many(self.names_families)


def _line(entry: Entry) -> dict[str, Any]:
    body, programme = entry.record.data, entry.family.enrolment.programme
    words = words_in(programme.pk, programme.version)
    skill, item = body.get("skill"), body.get("item")
    return {
        "family": entry.family,
        "number": entry.record.number,
        "kind": KINDS.get(entry.record.kind, entry.record.kind),
        "about": words.skill(skill).title if skill else words.item(item) if item else "",
        "on": entry.record.recorded_at.astimezone(entry.family.zone).date(),
        "by": body["signed"]["name"],
        "role": body["signed"]["role"],
    }
