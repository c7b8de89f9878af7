"""A caregiver's own page, and their own yes: only for the account of that very caregiver, while they care here."""

from __future__ import annotations

import uuid
from functools import cached_property
from http import HTTPStatus
from typing import Any

from django.conf import settings
from django.contrib import messages
from django.contrib.auth.mixins import LoginRequiredMixin
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views import View
from django.views.generic import FormView, TemplateView

from competency.fields import RefusedError
from training.log.reading import read
from training.log.writing import about
from training.pages.caregiver.around import Around
from training.pages.caregiver.pages import OwnPage
from training.pages.caregiver.written import OwnWritten
from training.pages.forms import SignedForm
from training.pages.hats import PLACE, Hat, chosen, hats, leave_soon
from training.people.models import Caregiver, Family
from training.people.reminding import may_remind
from training.records.models import Record
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn, signatures_missing
from training.standing.signing import signed_by


class Mine(LoginRequiredMixin, View):
    """To one's own page; to the choice of places where somebody has several and is at none of a caregiver's."""

    def get(self, request: HttpRequest) -> HttpResponse:
        mine = hats(request.user, timezone.now())
        if not any(hat.is_caregiver for hat in mine):
            raise Http404
        worn = chosen(request.session, mine)
        if worn is not None and worn.is_caregiver:
            return redirect("mine-family", caregiver=worn.public_id)
        return redirect("place")


class OwnView(LoginRequiredMixin, View):
    """A page of the caregiver in the address; 404 for everybody else. The clock is read here, once.

    On a phone that others use too a session left alone ends soon. Who works elsewhere at the moment chooses first.
    """

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.now = timezone.now()
        if not request.user.is_authenticated:
            return self.handle_no_permission()
        _found = self.caregiver
        worn = request.session.get(PLACE)
        if worn != str(self.caregiver.public_id) and worn in [str(hat.public_id) for hat in self.hats]:
            if request.method == "GET":
                return redirect("place")
            raise Http404
        leave_soon(request.session, self.now)
        answer = super().dispatch(request, *args, **kwargs)
        if answer.status_code == HTTPStatus.OK:
            read(by=self.caregiver, what="own-page", at=self.now, of=about(self.caregiver.family))
        return answer

    @cached_property
    def hats(self) -> list[Hat]:
        return hats(self.request.user, self.now)

    @cached_property
    def caregiver(self) -> Caregiver:
        mine = (hat.place for hat in self.hats if hat.is_caregiver)
        found = next((c for c in mine if c.public_id == self.kwargs["caregiver"]), None)
        if found is None:
            raise Http404
        return found

    @property
    def elsewhere(self) -> list[Caregiver]:
        """The same person's other places in families."""
        return [h.place for h in self.hats if isinstance(h.place, Caregiver) and h.place.pk != self.caregiver.pk]

    @property
    def home(self) -> HttpResponse:
        return redirect("mine-family", caregiver=self.caregiver.public_id)

    @cached_property
    def picture(self) -> FamilyOn:
        family = self.caregiver.family
        return FamilyOn(open_file(family), family.today(self.now))

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        family = self.caregiver.family
        names = {
            "caregiver": self.caregiver,
            "family": family,
            "who": family.patient_called,
            "person_name": self.caregiver.called,
            "organisation_title": family.organisation.title,
            "the_date": self.picture.day,
            "other_hats": [hat for hat in self.hats if hat.public_id != self.caregiver.public_id],
            "idle_minutes": settings.CAREGIVER_IDLE_MINUTES,
        }
        return super().get_context_data(**kwargs | names)


class OwnFamily(OwnView, TemplateView):
    template_name = "caregiver/mine.html"

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        family = self.caregiver.family
        if family.is_closed_on(family.today(self.now)):
            about = {**OwnView.get_context_data(self), "the_date": None, "died": family.closed_why == Family.Why.DIED}
            return render(request, "caregiver/closed.html", about)
        return super().get(request, *args, **kwargs)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        own = OwnWritten(self.picture, self.caregiver)
        page, around = OwnPage(self.picture, self.caregiver), Around(self.picture, self.caregiver, self.elsewhere)
        watched = may_remind(self.caregiver.family, self.now)
        return super().get_context_data(page=page, own=own, around=around, may_remind=watched, **kwargs)


class OwnYes(OwnView, FormView):
    """Do you feel you could do this alone? Yes is signed; “not yet” writes nothing."""

    template_name = "caregiver/sign.html"
    form_class = SignedForm

    @cached_property
    def skill(self) -> str:
        if self.kwargs["skill"] not in self.picture.file.rules.skills:
            raise Http404
        return str(self.kwargs["skill"])

    @property
    def is_awaited(self) -> bool:
        family = self.caregiver.family
        closed = family.is_closed_on(family.today(self.now))
        return not closed and "caregiver" in signatures_missing(self.picture, self.caregiver, self.skill)

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not self.is_awaited:
            raise Http404
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if self.said_before():
            return self.thank()
        if not self.is_awaited:
            raise Http404
        if "not_yet" in request.POST:
            messages.info(
                request, _("That is fine. Nothing changes. Tell your nurse what you would like to do once more.")
            )
            return self.home
        return super().post(request, *args, **kwargs)

    def said_before(self) -> bool:
        """Whether this very post, or one like it a moment ago, is a record already."""
        try:
            intent = uuid.UUID(self.request.POST.get("intent", ""))
        except ValueError:
            return False
        return Record.objects.filter(chain=self.caregiver.family.public_id, kind="signature", intent=intent).exists()

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def form_valid(self, form: SignedForm) -> HttpResponse:
        body = {
            "caregiver": self.caregiver.case_id,
            "skill": self.skill,
            "on": self.picture.day.isoformat(),
            "by": "caregiver",
        }
        try:
            deeds.record(
                family=self.caregiver.family,
                kind="signature",
                body=body,
                by=self.caregiver,
                intent=form.cleaned_data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        return self.thank()

    def thank(self) -> HttpResponse:
        messages.success(self.request, _("Your yes is written down."))
        return self.home

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        signing = signed_by(self.caregiver, kind="signature", at=self.now)
        return super().get_context_data(cell=self.picture.cell(self.caregiver, self.skill), signing=signing, **kwargs)
