"""Saved filters: under a name, for the member who saved it alone."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from training.pages.board.views import KEEPS, SAVED, BoardView
from training.standing.models import SavedFilter

LONGEST = SavedFilter._meta.get_field("title").max_length


class SaveFilter(BoardView):
    """Save what the address asks for. The same name once more is the newer filter."""

    right = KEEPS

    def post(self, request: HttpRequest) -> HttpResponse:
        title = " ".join(request.POST.get("title", "").split())[:LONGEST]
        asked = self.form.asked
        there = [one.title for one in self.saved]
        if not (title and asked) or (title not in there and len(there) >= SAVED):
            return redirect(f"{reverse('board')}{self.query()}")
        made, _new = SavedFilter.objects.update_or_create(member=self.member, title=title, defaults={"asked": asked})
        on = dict.fromkeys(("show", "programme", "within", "educator", "asked"), "")
        return redirect(f"{reverse('board')}{self.query(**on, saved=made.public_id)}")


class ForgetFilter(BoardView):
    right = KEEPS

    def post(self, request: HttpRequest) -> HttpResponse:
        for one in self.saved:
            if str(one.public_id) == request.POST.get("saved"):
                one.delete()
        return redirect(f"{reverse('board')}{self.query(saved='')}")
