"""The side that offers: a code from the other one, what it will be shown, then the signature; and taking it back."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import RefusedError
from training.handover import deeds
from training.handover.codes import organisation_with
from training.handover.models import Offer
from training.handover.summary import summary_of
from training.pages.setup.fields import DayField, EntryForm, iso, words_field
from training.pages.setup.kept import KeptView
from training.pages.setup.looking import LooksFirst
from training.people.access import Right
from training.people.models import Organisation
from training.records.models import Record
from training.standing.signing import shown_digest, signed_by


class OfferForm(EntryForm):
    """looking: it only asks what the other side would be shown, so nothing is signed yet. shown: the digest of that."""

    code = forms.CharField(
        label=gettext_lazy("Hand-over code"),
        max_length=40,
        help_text=gettext_lazy("The other organisation has it on its own page and tells you."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters", "spellcheck": "false"}),
    )
    reason = words_field(gettext_lazy("Why"), help_text=gettext_lazy("What the other side is asked to take over."))
    home_on = DayField(label=gettext_lazy("Home on"), required=False)
    note = words_field(
        gettext_lazy("Note"), required=False, help_text=gettext_lazy("The other side reads all of this.")
    )
    shown = forms.CharField(widget=forms.HiddenInput, required=False)
    places = {"to": "code"}
    days = ("on", "through")

    def __init__(self, *args: Any, looking: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.to: Organisation | None = None
        if looking:
            self.ask_no_proof()

    def clean_code(self) -> str:
        code: str = self.cleaned_data["code"]
        self.to = organisation_with(code)
        if self.to is None:
            raise forms.ValidationError(_("This code names no organisation. Ask for it again; nothing was sent."))
        if self.to == self.picture.family.organisation:
            raise forms.ValidationError(_("This is your own organisation’s code."))
        return code

    def typed(self) -> dict[str, Any]:
        return {name: self[name].value() for name in self.fields}


class OfferFamily(LooksFirst, KeptView):
    """What the other side will see is shown before it is signed."""

    asks = frozenset({Right.DECIDE})
    kind = "offer"
    form_class = OfferForm
    template_name = "handover/offer_new.html"
    title = gettext_lazy("Hand this family over")
    lead = gettext_lazy(
        "You offer; the other organisation accepts or declines. Until it accepts it sees a summary and no file. You "
        "keep your own file either way."
    )
    button = gettext_lazy("Sign the offer")
    done = gettext_lazy("Offered. Their answer will stand here and on the family’s page.")
    from_address = ()

    @cached_property
    def summary(self) -> dict[str, Any]:
        return summary_of(self.picture)

    def seen(self, form: OfferForm) -> dict[str, Any]:
        told = {"reason": form["reason"].value(), "note": form["note"].value(), "home_on": form["home_on"].value()}
        signed = signed_by(self.member, kind=self.kind, at=self.now, family=self.family)
        told["by"] = f"{signed['name']}, {signed['role']}"
        return {"to": form.to, "shown": {**self.summary, **told}}

    def digest(self, form: OfferForm) -> str:
        data = form.cleaned_data
        told = {"reason": data["reason"], "note": data["note"], "home_on": iso(data["home_on"])}
        return shown_digest({"to": str(form.to.public_id), "summary": self.summary, **told})

    def write(self, form: OfferForm) -> Record:
        data = form.cleaned_data
        offer = deeds.offer_family(
            family=self.family,
            to=form.to,
            reason=data["reason"],
            home_on=data["home_on"],
            note=data["note"],
            shown=self.summary,
            by=self.member,
            intent=data["intent"],
            at=self.now,
        )
        return Record.objects.get(intent=offer.intent, chain=self.family.public_id)

    def after(self, made: Record) -> str:
        return reverse("handover", args=[self.family.public_id])


class ReasonForm(EntryForm):
    reason = words_field(gettext_lazy("Reason"), help_text=gettext_lazy("Both sides read it."))


class WithdrawOffer(KeptView):
    asks = frozenset({Right.DECIDE})
    kind = "offer_withdrawn"
    form_class = ReasonForm
    title = gettext_lazy("Take the offer back")
    lead = gettext_lazy("The other side sees the summary no longer, only that you took the offer back, and why.")
    button = gettext_lazy("Sign that you take it back")
    done = gettext_lazy("The offer is taken back.")
    from_address = ()

    @cached_property
    def offer(self) -> Offer:
        return get_object_or_404(self.family.offers.all(), public_id=self.kwargs["offer"])

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().get(request, *args, **kwargs) if self.offer.is_open(self.now) else self.over()

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        self.check_allowed()
        return super().post(request, *args, **kwargs) if self.offer.is_open(self.now) else self.over()

    def over(self) -> HttpResponse:
        messages.info(self.request, _("This offer does not wait any more; nothing was signed now."))
        return redirect(self.home)

    def form_valid(self, form: ReasonForm) -> HttpResponse:
        try:
            deeds.withdraw(offer=self.offer, reason=form.cleaned_data["reason"], by=self.member, at=self.now)
        except deeds.OfferEndedError:
            return self.over()
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        messages.success(self.request, str(self.done))
        return redirect(self.home)

    @property
    def home(self) -> str:
        return reverse("handover", args=[self.family.public_id])
