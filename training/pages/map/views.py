"""The map of a programme, of one caregiver for staff, and of oneself."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.generic import TemplateView

from training.pages.board.curriculum import ProgrammeView
from training.pages.caregiver.views import OwnView
from training.pages.map.drawing import drawing
from training.pages.map.maps import Map, caregiver_map, programme_map
from training.pages.views import FamilyView
from training.standing.file import read_rules


def drawn(found: Map) -> dict[str, Any]:
    return {"map": found, "picture": drawing(found.nodes)}


class ProgrammeMap(ProgrammeView):
    def get(self, request: HttpRequest, programme: Any) -> HttpResponse:
        day = self.member.today(self.now)
        found = programme_map(read_rules(self.programme), self.words, day)
        page = {"programme": self.programme, "notice": self.words.notice, "map_date": day, **drawn(found)}
        return render(request, "map/programme.html", page)


class CaregiverMap(FamilyView):
    def get(self, request: HttpRequest, family: Any, caregiver: Any) -> HttpResponse:
        page = {
            "family": self.family,
            "caregiver": self.caregiver,
            "the_date": self.day,
            "today": self.today,
            "others": [c for c in self.picture.caregivers if c != self.caregiver],
            **drawn(caregiver_map(self.picture, self.caregiver, plainly=False)),
        }
        return render(request, "map/caregiver.html", page)


class OwnMap(OwnView, TemplateView):
    template_name = "map/mine.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        found = caregiver_map(self.picture, self.caregiver, plainly=True)
        return super().get_context_data(**drawn(found), **kwargs)
