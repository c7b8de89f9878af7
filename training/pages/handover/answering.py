"""The side that is offered a family: what waits, one summary, and the answer; and the code it tells others."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from competency.verify import MisfitError
from training.curriculum.models import Programme
from training.handover import codes, deeds
from training.handover.models import Offer
from training.log import writing as log
from training.pages.forms import SignedForm
from training.pages.setup.fields import words_field
from training.pages.views import MemberView
from training.people.access import Right
from training.people.models import Family
from training.standing.signing import signed_by


class Offers(MemberView):
    """Everything that was ever offered to this organisation, newest first; what waits stands on top."""

    right = Right.RECORD

    def get(self, request: HttpRequest) -> HttpResponse:
        rows = [(offer, offer.state(self.now)) for offer in Offer.objects.visible_to(self.member)]
        page = {
            "waiting": [offer for offer, state in rows if not state],
            "over": [(offer, Offer.Ended(state).label) for offer, state in rows if state],
            "may_code": self.may(Right.DECIDE),
        }
        return render(request, "handover/offers.html", page)


class OfferedView(MemberView):
    """A page about one offer made to this organisation; 404 for everybody else's."""

    right = Right.RECORD

    def find(self) -> None:
        _found = self.offer

    @cached_property
    def offer(self) -> Offer:
        return get_object_or_404(Offer.objects.visible_to(self.member), public_id=self.kwargs["offer"])

    @property
    def state(self) -> str:
        return self.offer.state(self.now)


class OfferPage(OfferedView):
    """The summary while it waits; afterwards who answered, when and why, and nothing of the family."""

    def get(self, request: HttpRequest, offer: Any) -> HttpResponse:
        page = {
            "offer": self.offer,
            "state": Offer.Ended(self.state).label if self.state else "",
            "shown": self.offer.shown if not self.state else None,
            "may_answer": self.may(Right.DECIDE) and not self.state,
        }
        return render(request, "handover/offer.html", page)


class AnswerView(OfferedView, FormView):
    """A signed answer. An offer that is over is said to be, and nothing is written."""

    right = Right.DECIDE
    template_name = "handover/answer.html"
    kind: str
    title: Promise
    lead: Promise
    button: Promise

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return self.over() if self.state else super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        return self.over() if self.state else super().post(request, *args, **kwargs)

    def over(self) -> HttpResponse:
        """Somebody answered first, or it was this very post a moment ago."""
        offer = self.offer
        offer.refresh_from_db()
        if offer.made is not None:
            messages.info(self.request, _("Accepted already by %(name)s.") % {"name": offer.ended_by})
            return redirect("handover", family=offer.made.public_id)
        messages.info(self.request, _("This offer does not wait any more; nothing was signed now."))
        return redirect("offer", offer=offer.public_id)

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            offer=self.offer,
            shown=self.offer.shown,
            title=self.title,
            lead=self.lead,
            button=self.button,
            home=reverse("offer", args=[self.offer.public_id]),
            signing=signed_by(self.member, kind=self.kind, at=self.now),
            **kwargs,
        )


class AcceptForm(SignedForm):
    programme = forms.ChoiceField(
        label=gettext_lazy("Programme the family follows here"),
        help_text=gettext_lazy("Your own. Theirs is not carried over."),
    )

    def __init__(self, *args: Any, programmes: dict[str, Programme], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        found = [(key, p.title) for key, p in programmes.items()]
        self.fields["programme"].choices = found if len(found) == 1 else [("", _("Choose")), *found]

    @property
    def nothing_to_choose(self) -> bool:
        return not any(value for value, _label in self.fields["programme"].choices)


class AcceptOffer(AnswerView):
    form_class = AcceptForm
    kind = "offer_accepted"
    title = gettext_lazy("Accept this family")
    lead = gettext_lazy(
        "Your own file begins, with who the patient and the caregivers are. The other organisation’s record is kept "
        "beside it to read. No sign-off, care plan, authorisation or account comes along: you take over or see again "
        "each one."
    )
    button = gettext_lazy("Sign and accept")

    @cached_property
    def programmes(self) -> dict[str, Programme]:
        return {str(p.public_id): p for p in Programme.objects.visible_to(self.member)}

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "programmes": self.programmes}

    def form_valid(self, form: AcceptForm) -> HttpResponse:
        try:
            family = self.accepted(self.programmes[form.cleaned_data["programme"]])
        except deeds.OfferEndedError:
            return self.over()
        except MisfitError:
            form.add_error(
                None,
                _("The other side’s record does not fit its own digests. Nothing was taken over; tell them."),
            )
            return self.form_invalid(form)
        messages.success(self.request, _("Accepted. Your own file has begun."))
        return redirect("handover", family=family.public_id)

    def accepted(self, programme: Programme) -> Family:
        return deeds.accept(offer=self.offer, programme=programme, by=self.member, at=self.now)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        nothing = _("No checklists are published yet. A family follows one programme, so it waits for the first.")
        return super().get_context_data(nothing=nothing, **kwargs)


class DeclineForm(SignedForm):
    reason = words_field(gettext_lazy("Reason"), help_text=gettext_lazy("Both sides read it."))


class DeclineOffer(AnswerView):
    form_class = DeclineForm
    kind = "offer_declined"
    title = gettext_lazy("Decline this family")
    lead = gettext_lazy("The other organisation reads who declined, when and why. You see the summary no longer.")
    button = gettext_lazy("Sign and decline")

    def form_valid(self, form: DeclineForm) -> HttpResponse:
        try:
            deeds.decline(offer=self.offer, reason=form.cleaned_data["reason"], by=self.member, at=self.now)
        except deeds.OfferEndedError:
            return self.over()
        messages.success(self.request, _("Declined. The other organisation reads your reason."))
        return redirect("offers")


class Code(MemberView):
    """The code that another organisation needs to offer a family to this one."""

    right = Right.READ

    def find(self) -> None:
        if not (self.may(Right.DECIDE) or self.may(Right.ADMINISTER)):
            raise PermissionDenied

    def get(self, request: HttpRequest) -> HttpResponse:
        found = codes.code_of(self.member.organisation, self.now)
        return render(request, "handover/code.html", {"code": codes.grouped(found.code), "made": found.made_at})

    @transaction.atomic
    def post(self, request: HttpRequest) -> HttpResponse:
        organisation = self.member.organisation
        codes.change_code(organisation, self.now)
        log.deed(organisation=organisation, what="handover-code-changed", by=log.who(self.member), at=self.now)
        messages.success(request, _("There is a new code. The one before names nobody from now on."))
        return redirect("handover-code")
