"""The first page: each person is sent to where their work is."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views import View

from training.pages import hats
from training.people.models import Member


class Home(LoginRequiredMixin, View):
    """Where somebody's work is; a choice of places where there are several, and a plain word where there is none."""

    def get(self, request: HttpRequest) -> HttpResponse:
        mine = hats.hats(request.user, timezone.now())
        if request.session.get(hats.SEVERAL, False) != (len(mine) > 1):
            request.session[hats.SEVERAL] = len(mine) > 1
        if not mine:
            return render(request, "registration/no_place.html", status=404)
        worn = hats.chosen(request.session, mine)
        if worn is None:
            return render(request, "registration/choose_place.html", {"hats": mine})
        if worn.is_caregiver:
            return redirect("mine-family", caregiver=worn.public_id)
        return redirect("families" if worn.place.role == Member.Role.EDUCATOR else "board")


class ChoosePlace(LoginRequiredMixin, View):
    """Work in another of one's places from here on."""

    def get(self, request: HttpRequest) -> HttpResponse:
        mine = hats.hats(request.user, timezone.now())
        return render(request, "registration/choose_place.html", {"hats": mine})

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        wanted = request.POST.get("place", "")
        found = next((hat for hat in hats.hats(request.user, timezone.now()) if str(hat.public_id) == wanted), None)
        if found is None:
            raise Http404
        hats.put_on(request.session, found)
        return redirect("home")
