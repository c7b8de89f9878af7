"""Rechecks in bulk: who is touched is shown first, then the password is asked for. Names many families."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.functional import Promise
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext
from django.views.generic import FormView

from competency.fields import RefusedError
from training.log.writing import About, many
from training.pages.forms import SignedForm
from training.pages.setup.fields import EVERY, DayField, in_order, words_field
from training.pages.setup.statements import skill_titles
from training.pages.views import MemberView
from training.people.access import Right
from training.people.models import Member
from training.records.appending import AlreadyRecordedError, ChainMovedError
from training.standing import rechecking
from training.standing.file import words_in
from training.standing.rechecking import Found, ListMovedError
from training.standing.signing import signed_by


class ManyForm(SignedForm):
    """looking: nothing is signed yet, so no password is asked for."""

    shown = forms.CharField(widget=forms.HiddenInput, required=False)
    reason = words_field(
        gettext_lazy("Reason"), help_text=gettext_lazy("The same in every file. Name no other family.")
    )

    def __init__(self, *args: Any, looking: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if looking:
            self.ask_no_proof()
        else:
            self.prove_last()

    def typed(self) -> dict[str, Any]:
        return {name: self[name].value() for name in self.fields}


class ObserverForm(ManyForm):
    observer = forms.ChoiceField(label=gettext_lazy("Observer"))
    from_day = DayField(label=gettext_lazy("Seen from"))
    through = DayField(label=gettext_lazy("Through"), help_text=gettext_lazy("Both days are meant too."))
    field_order = ("observer", "from_day", "through", "reason")

    def __init__(self, *args: Any, observers: dict[str, Member], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        named = [(key, f"{m.signed_name}, {m.get_role_display()}") for key, m in observers.items()]
        self.fields["observer"].choices = [("", _("Choose")), *named]

    def clean(self) -> dict[str, Any]:
        in_order(self, "from_day", "through")
        return self.cleaned_data


class DeviceForm(ManyForm):
    device = forms.ChoiceField(label=gettext_lazy("What the care plan says today"))
    skills = forms.MultipleChoiceField(label=gettext_lazy("To be shown again"), widget=forms.CheckboxSelectMultiple)
    field_order = ("device", "skills", "reason")

    def __init__(self, *args: Any, devices: list[Any], skills: dict[str, str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["device"].choices = [("", _("Choose")), *devices]
        self.fields["skills"].choices = [(EVERY, _("Every skill")), *skills.items()]

    @property
    def codes(self) -> list[str | None]:
        chosen = self.cleaned_data["skills"]
        return [None] if EVERY in chosen else list(chosen)


class RecheckMany(MemberView, FormView):
    """Two steps on one page. A list that moved between them is shown again, and nothing is signed."""

    right = Right.DECIDE
    template_name = "setup/rechecks.html"
    title: Promise
    lead: Promise
    names_families = 0

    @property
    def looking(self) -> bool:
        return "sign" not in self.request.POST

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "user": self.request.user, "looking": self.looking}

    def find_touched(self, form: Any) -> Found:
        raise NotImplementedError

    def form_valid(self, form: Any) -> HttpResponse:
        if self.looking:
            return self.look(form)
        data = form.cleaned_data
        try:
            made = rechecking.recheck_many(
                find=lambda: self.find_touched(form),
                shown=data["shown"],
                reason=data["reason"],
                by=self.member,
                intent=data["intent"],
                at=self.now,
            )
        except ListMovedError:
            return self.look(form, changed=True)
        except RefusedError as refusal:
            form.refuse(refusal)
            return self.form_invalid(form)
        except (AlreadyRecordedError, ChainMovedError):
            form.add_error(None, _("Somebody wrote in a file at the same time. Nothing was signed; send it again."))
            return self.form_invalid(form)
        families = len({one.chain for one in made})
        messages.success(self.request, _said(len(made), families))
        return redirect("families")

    def look(self, form: Any, *, changed: bool = False) -> HttpResponse:
        """Show who is touched, and ask for the password."""
        found = self.find_touched(form)
        self.names_families = found.families
        digest = found.digest(form.cleaned_data["reason"])
        kwargs = {**self.get_form_kwargs(), "looking": not found.touched, "data": None, "files": None}
        initial = {**form.typed(), "intent": form.cleaned_data["intent"], "shown": digest}
        again = self.form_class(**{**kwargs, "initial": initial})
        return self.render_to_response(self.get_context_data(form=again, found=found, changed=changed))

    def form_invalid(self, form: Any) -> HttpResponse:
        """Where only the password or the code was wrong, who is touched stays on the screen."""
        found = self.find_touched(form) if form.lacks_only_proof else None
        self.names_families = found.families if found else 0
        return self.render_to_response(self.get_context_data(form=form, found=found))

    def reading(self) -> tuple[str, About | None] | None:
        return ("board", many(self.names_families)) if self.names_families else None

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            title=self.title,
            lead=self.lead,
            signing=signed_by(self.member, kind="recheck", at=self.now),
            is_voidable=True,
            **kwargs,
        )


def _said(records: int, families: int) -> str:
    asked = ngettext("One recheck entered", "%(n)s rechecks entered", records) % {"n": records}
    where = ngettext("in one family.", "in %(n)s families, each in its own file.", families) % {"n": families}
    return f"{asked} {where}"


class ByObserver(RecheckMany):
    form_class = ObserverForm
    title = gettext_lazy("See again what one observer signed")
    lead = gettext_lazy(
        "Everyone whom this observer watched, agreed to or took over between two days shows those skills again."
    )

    @cached_property
    def observers(self) -> dict[str, Member]:
        """Everybody who has or had a place here: whoever has left may be the one."""
        rows = self.member.organisation.members.select_related("user", "organisation")
        return {str(m.public_id): m for m in rows}

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "observers": self.observers}

    def find_touched(self, form: ObserverForm) -> Found:
        data = form.cleaned_data
        observer = self.observers[data["observer"]]
        return rechecking.signed_by_observer(self.member, observer, data["from_day"], data["through"], self.now)


class ByDevice(RecheckMany):
    form_class = DeviceForm
    title = gettext_lazy("See everyone on one device again")
    lead = gettext_lazy("Every caregiver whose patient’s care plan says this today shows these skills again.")

    def get_form_kwargs(self) -> dict[str, Any]:
        more = {"devices": self.devices(), "skills": skill_titles(self.member)}
        return {**super().get_form_kwargs(), **more}

    def devices(self) -> list[Any]:
        """Facts by title with their values, in the words of the first programme that knows them.

        Left out is what every programme that knows it calls no equipment: after a recall a choice too many is safer.
        """
        programmes = self.member.organisation.programmes.order_by("pk")
        words = [words_in(p.pk, p.version) for p in programmes]
        found = []
        for fact, values in rechecking.devices(self.member):
            knowing = [w for w in words if fact in w.facts]
            if knowing and not any(w.may_be_device(fact) for w in knowing):
                continue
            named = next(iter(knowing), None)
            title = named.fact(fact) if named else fact
            shown = [(f"{fact}={v}", f"{title}: {_value(named, fact, v)}") for v in values]
            found.append((title, shown))
        return sorted(found, key=lambda one: one[0].casefold())

    def find_touched(self, form: DeviceForm) -> Found:
        fact, _sign, value = form.cleaned_data["device"].partition("=")
        return rechecking.on_device(self.member, fact, value, form.codes, self.now)


def _value(words: Any, fact: str, value: str) -> str:
    plain = {"True": True, "False": False}.get(value, value)
    return words.fact_value(fact, plain) if words else value
