"""The first page: each person is sent to where their work is."""

from __future__ import annotations

from typing import Any

from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views import View

from training.pages.views import PLACE
from training.people.access import memberships
from training.people.models import Caregiver, Member


class Home(LoginRequiredMixin, View):
    """Where somebody's work is; a choice of places where there are several, and a plain word where there is none."""

    def get(self, request: HttpRequest) -> HttpResponse:
        places = memberships(request.user, timezone.now())
        caregiving = list(Caregiver.objects.of(request.user).select_related("family"))
        if len(places) + bool(caregiving) > 1 and PLACE not in request.session:
            return render(request, "registration/choose_place.html", {"choices": places, "caregiving": caregiving})
        if places:
            chosen = next((m for m in places if str(m.public_id) == request.session.get(PLACE)), places[0])
            return redirect("families" if chosen.role == Member.Role.EDUCATOR else "board")
        if caregiving:
            return redirect("mine")
        return render(request, "registration/no_place.html", status=404)


class ChoosePlace(LoginRequiredMixin, View):
    """Work in another of one's places from here on."""

    def get(self, request: HttpRequest) -> HttpResponse:
        places = memberships(request.user, timezone.now())
        caregiving = list(Caregiver.objects.of(request.user).select_related("family"))
        return render(request, "registration/choose_place.html", {"choices": places, "caregiving": caregiving})

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        wanted = request.POST.get("place", "")
        if wanted not in [str(m.public_id) for m in memberships(request.user, timezone.now())]:
            raise Http404
        request.session[PLACE] = wanted
        return redirect("home")
