"""A caregiver reads what is written about them, and says something about it: their own words, signed like their yes."""

from __future__ import annotations

import uuid
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView, TemplateView

from competency.fields import RefusedError
from training.pages.caregiver.views import OwnView
from training.pages.caregiver.written import OwnWritten
from training.pages.forms import SignedForm
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.records.models import Record
from training.standing import deeds
from training.standing.signing import signed_by


class OwnRecords(OwnView, TemplateView):
    """Everything that is written about them, newest first, with their own words on it."""

    template_name = "caregiver/written.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(records=OwnWritten(self.picture, self.caregiver).records(), **kwargs)


class SayForm(SignedForm):
    said = forms.CharField(
        label=gettext_lazy("Your own words"),
        max_length=2000,
        help_text=gettext_lazy("The people who care with you read them. They change nothing you have shown."),
        widget=forms.Textarea(attrs={"rows": 4}),
    )
    field_order = ["said", "password"]


class SaySomething(OwnView, FormView):
    """Only the caregiver writes their own words; 404 for a record that is not about them."""

    template_name = "caregiver/say.html"
    form_class = SayForm

    @cached_property
    def about(self) -> Record:
        found = OwnWritten(self.picture, self.caregiver).record(self.kwargs["number"])
        if found is None:
            raise Http404
        return found

    def get(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        _found = self.about
        return super().get(request, *args, **kwargs)

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        _found = self.about
        return self.thank() if self.said_before() else super().post(request, *args, **kwargs)

    def said_before(self) -> bool:
        """Whether this very post is a record already."""
        try:
            intent = uuid.UUID(self.request.POST.get("intent", ""))
        except ValueError:
            return False
        return Record.objects.filter(chain=self.caregiver.family.public_id, kind="comment", intent=intent).exists()

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user}

    def form_valid(self, form: SayForm) -> HttpResponse:
        body = {
            "caregiver": self.caregiver.case_id,
            "record": str(self.about.intent),
            "on": self.picture.day.isoformat(),
            "said": form.cleaned_data["said"],
        }
        try:
            deeds.record(
                family=self.caregiver.family,
                kind="comment",
                body=body,
                by=self.caregiver,
                intent=form.cleaned_data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        except (AlreadyRecordedError, ChainMovedError):
            form.add_error(None, _("Somebody wrote in this file at the same time. Nothing was signed; send it again."))
            return self.form_invalid(form)
        return self.thank()

    def thank(self) -> HttpResponse:
        messages.success(self.request, _("Your words are written down."))
        return redirect("mine-records", caregiver=self.caregiver.public_id)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        own = OwnWritten(self.picture, self.caregiver).own(self.about)
        signing = signed_by(self.caregiver, kind="comment", at=self.now)
        return super().get_context_data(own=own, signing=signing, **kwargs)
