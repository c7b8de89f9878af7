"""Who works with a family; who sees which families; a family opened in an emergency."""

from __future__ import annotations

from datetime import datetime
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.db import transaction
from django.db.models import Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from training.log import writing as log
from training.pages.forms import DeedForm
from training.pages.views import FamilyView, MemberView
from training.people.access import Right, assign, open_in_emergency, unassign
from training.people.models import Assignment, Family, Member


def may_assign(view: MemberView) -> bool:
    return view.may(Right.DECIDE) or view.may(Right.ADMINISTER)


# One family -----------------------------------------------------------------------------------------------


class WhoWorks(FamilyView):
    """Who works with this family, and who opened it in an emergency. Supervisors and administrators change it."""

    def get(self, request: HttpRequest, family: Any) -> HttpResponse:
        page = {
            "family": self.family,
            "working": self.working(),
            "opened": self.opened(),
            "others": self.others() if may_assign(self) else [],
            "may_assign": may_assign(self),
            "assigned_only": self.member.organisation.assigned_only,
        }
        return render(request, "assigning/who_works.html", page)

    @transaction.atomic
    def post(self, request: HttpRequest, family: Any) -> HttpResponse:
        if not may_assign(self):
            raise PermissionDenied
        other = get_object_or_404(self.colleagues(), public_id=self.wanted())
        words = {"name": other.signed_name}
        if "end" in request.POST:
            if unassign(member=other, family=self.family, at=self.now):
                self.log("unassigned", other)
            messages.success(request, _("%(name)s no longer works with this family.") % words)
        else:
            if assign(member=other, family=self.family, at=self.now).since == self.now:
                self.log("assigned", other)
            messages.success(request, _("%(name)s works with this family.") % words)
        return redirect("who-works", family=self.family.public_id)

    def log(self, what: str, other: Member) -> None:
        by, of = log.who(self.member), log.about(self.family)
        organisation = self.member.organisation
        log.deed(organisation=organisation, what=what, by=by, at=self.now, of=of, member=other.signed_name)

    def wanted(self) -> Any:
        try:
            return forms.UUIDField().clean(self.request.POST.get("member", ""))
        except forms.ValidationError:
            raise Http404 from None

    def colleagues(self) -> Any:
        return Member.objects.visible_to(self.member).select_related("user", "organisation")

    @cached_property
    def assignments(self) -> list[Assignment]:
        return list(self.family.assignments.select_related("member__user", "member__organisation"))

    def working(self) -> list[Assignment]:
        """In force now and not for an emergency alone."""
        return [a for a in self.assignments if not a.reason and is_in_force(a, self.now)]

    def opened(self) -> list[dict[str, Any]]:
        """Every emergency, the last first; it stays here when its day is over."""
        found = [a for a in reversed(self.assignments) if a.reason]
        return [{"one": a, "since": self.clock(a.since), "until": self.clock(a.until)} for a in found]

    def clock(self, moment: datetime | None) -> datetime | None:
        return moment.astimezone(self.family.zone) if moment else None

    def others(self) -> list[Member]:
        """Educators with a place here today who do not work with the family yet."""
        there = {a.member_id for a in self.working()}
        educators = self.colleagues().filter(role=Member.Role.EDUCATOR).exclude(pk__in=there)
        return [m for m in educators if m.through is None or m.today(self.now) <= m.through]


def is_in_force(assignment: Assignment, now: datetime) -> bool:
    return assignment.since <= now and (assignment.until is None or assignment.until > now)


# The organisation -----------------------------------------------------------------------------------------


class WhoSeesForm(DeedForm):
    assigned_only = forms.TypedChoiceField(
        label=gettext_lazy("Educators see"),
        choices=[("no", gettext_lazy("every family")), ("yes", gettext_lazy("only the families assigned to them"))],
        coerce=lambda text: text == "yes",
        widget=forms.RadioSelect,
    )


class WhoSees(MemberView, FormView):
    """Whether educators see every family. Nobody's assignments change with it."""

    right = Right.ADMINISTER
    form_class = WhoSeesForm
    template_name = "setup/member.html"

    def get_initial(self) -> dict[str, Any]:
        return {"assigned_only": "yes" if self.member.organisation.assigned_only else "no"}

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(
            title=_("Who sees which families"), lead=self.lead(), button=_("Save"), **kwargs
        )

    def lead(self) -> str:
        here = Q(assignments__until=None, assignments__member__role=Member.Role.EDUCATOR)
        mine = Family.objects.visible_to(self.member)
        alone = mine.exclude(pk__in=mine.filter(here, assignments__isnull=False).values("pk")).count()
        first = _(
            "Supervisors, administrators and auditors see every family. Who opens a family works with it. Others are "
            "assigned on the family’s own page, and an educator who has to see a family in an emergency opens it for a "
            "day, with a reason that stays on that page."
        )
        return f"{first} {_('Families with no educator assigned: %(n)s.') % {'n': alone}}"

    @transaction.atomic
    def form_valid(self, form: WhoSeesForm) -> HttpResponse:
        organisation = self.member.organisation
        if organisation.assigned_only != form.cleaned_data["assigned_only"]:
            what = "educators-see-assigned" if form.cleaned_data["assigned_only"] else "educators-see-all"
            log.deed(organisation=organisation, what=what, by=log.who(self.member), at=self.now)
        organisation.assigned_only = form.cleaned_data["assigned_only"]
        organisation.save(update_fields=["assigned_only"])
        messages.success(self.request, _("Saved."))
        return redirect("members")


# An emergency ---------------------------------------------------------------------------------------------


class OpenNowForm(DeedForm):
    name = forms.CharField(
        label=gettext_lazy("The family’s name, or the patient’s full name"),
        max_length=200,
        help_text=gettext_lazy("Whole, as it is written in the file."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "spellcheck": "false"}),
    )
    reason = forms.CharField(
        label=gettext_lazy("Why you have to see it now"),
        max_length=200,
        help_text=gettext_lazy("It stays on the family’s page with your name and the time; supervisors read it."),
    )


class OpenNow(MemberView, FormView):
    """A family that is not assigned to somebody, opened by them for a day, with a reason. No list to choose from."""

    right = Right.READ
    form_class = OpenNowForm
    template_name = "assigning/open_now.html"

    def find(self) -> None:
        if not self.member.sees_assigned_only:
            raise Http404  # they see every family as it is

    @transaction.atomic
    def form_valid(self, form: OpenNowForm) -> HttpResponse:
        found = self.named(form.cleaned_data["name"].strip())
        if len(found) != 1:
            form.add_error("name", self.not_one(found))
            return self.form_invalid(form)
        if found[0] not in Family.objects.visible_to(self.member):
            reason = form.cleaned_data["reason"]
            open_in_emergency(member=self.member, family=found[0], reason=reason, at=self.now)
            self.log(found[0], reason)
            messages.success(self.request, _("This family is open to you for 24 hours."))
        return redirect("family", family=found[0].public_id)

    def log(self, family: Family, reason: str) -> None:
        by, of = log.who(self.member), log.about(family)
        organisation = self.member.organisation
        log.deed(organisation=organisation, what="opened-in-emergency", by=by, at=self.now, of=of, reason=reason)

    def named(self, name: str) -> list[Family]:
        """Those of the organisation with exactly this name: an emergency is what the other families are opened for."""
        rows = Family.objects.filter(organisation=self.member.organisation_id)
        return list(rows.filter(Q(name__iexact=name) | Q(patient_name__iexact=name)))

    @staticmethod
    def not_one(found: list[Family]) -> str:
        if found:
            return _("More than one family has this name. Write the patient’s full name.")
        return _("No family here has this name.")
