"""Members: who works here, in which role, from when to when, and what each may assess."""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from datetime import date
from functools import cached_property
from typing import Any

from django import forms
from django.contrib import messages
from django.contrib.auth.password_validation import validate_password
from django.db import IntegrityError, transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView, TemplateView

from training.log import writing as log
from training.pages.forms import DeedForm
from training.pages.setup.fields import DayField, say_optional
from training.pages.setup.statements import statements
from training.pages.views import MemberView
from training.people.access import Right
from training.people.models import Member, User
from training.standing.questions import written

CANNOT_BE_USED = gettext_lazy("This name cannot be used here. Choose another.")


class Members(MemberView, TemplateView):
    """Everybody with a place here, and those who had one."""

    right = Right.READ
    template_name = "setup/members.html"

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        today = self.member.today(self.now)
        rows = list(self.rows(today))
        return super().get_context_data(
            rows=[row for row in rows if not row["is_over"]],
            past=[row for row in rows if row["is_over"]],
            the_date=None,
            today=today,
            may_administer=self.may(Right.ADMINISTER),
            may_qualify=self.may(Right.ADMINISTER) or self.may(Right.DECIDE),
            **kwargs,
        )

    def rows(self, today: date) -> Iterator[dict[str, Any]]:
        stated = statements(self.member)
        for member in self.member.organisation.members.select_related("user"):
            yield {
                "member": member,
                "statements": stated.get(member.observer_id, []),
                "is_over": member.through is not None and member.through < today,
            }


class MemberForm(DeedForm):
    role = forms.ChoiceField(label=gettext_lazy("Role"), choices=Member.Role.choices)
    credential = forms.CharField(
        label=gettext_lazy("Licence or credential"),
        max_length=30,
        required=False,
        help_text=gettext_lazy("As printed after the name, such as RN."),
    )


class NewMemberForm(MemberForm):
    full_name = forms.CharField(label=gettext_lazy("Full name"), max_length=200)
    username = forms.CharField(
        label=gettext_lazy("User name"),
        max_length=254,
        help_text=gettext_lazy("What they sign in with; an e-mail address will do."),
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "none", "spellcheck": "false"}),
    )
    password1 = forms.CharField(
        label=gettext_lazy("First password"),
        strip=False,
        help_text=gettext_lazy("Ten characters or more, and not a common one."),
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    password2 = forms.CharField(
        label=gettext_lazy("First password, again"),
        strip=False,
        widget=forms.PasswordInput(attrs={"autocomplete": "new-password"}),
    )
    from_day = DayField(label=gettext_lazy("From"))
    is_role_account = forms.BooleanField(
        label=gettext_lazy("Several people read with this account"),
        required=False,
        help_text=gettext_lazy("On a ward’s own tablet, say. Nobody can sign with it."),
    )
    field_order = ["full_name", "username", "role", "credential", "from_day", "password1", "password2"]

    def __init__(self, *args: Any, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["role"].choices = [("", _("Choose")), *Member.Role.choices]
        self.initial.setdefault("from_day", today)
        say_optional(self)

    def clean_username(self) -> str:
        name = User.normalize_username(self.cleaned_data["username"])
        if User.objects.filter(username__iexact=name).exists():
            raise forms.ValidationError(CANNOT_BE_USED)
        return name

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        first, again = data.get("password1"), data.get("password2")
        if first and again and first != again:
            self.add_error("password2", _("The two passwords differ."))
        elif first:
            self.check_password(first)
        return data

    def check_password(self, password: str) -> None:
        data = self.cleaned_data
        user = User(username=data.get("username", ""), full_name=data.get("full_name", ""))
        try:
            validate_password(password, user)
        except forms.ValidationError as error:
            self.add_error("password1", error)


class MemberPage(MemberView, FormView):
    """What the member forms share."""

    right = Right.ADMINISTER
    template_name = "setup/member.html"
    title = gettext_lazy("Members")
    lead: Any = ""
    button: Any = ""

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        opens = self.may(Right.ADMINISTER)
        return super().get_context_data(title=self.title, lead=self.lead, button=self.button, opens=opens, **kwargs)

    @cached_property
    def other(self) -> Member:
        """The member of the address, of this organisation."""
        rows = Member.objects.visible_to(self.member).select_related("user", "organisation")
        return get_object_or_404(rows, public_id=self.kwargs["member"])

    def log(self, what: str, about: Member, **words: str) -> None:
        """Log what was done about a member; call it in the deed's transaction."""
        organisation, by = self.member.organisation, log.who(self.member)
        log.deed(organisation=organisation, what=what, by=by, at=self.now, member=about.signed_name, **words)


class NewMember(MemberPage):
    form_class = NewMemberForm
    title = gettext_lazy("A new member")
    lead = gettext_lazy("They sign in with this user name. What they may assess is stated separately.")
    button = gettext_lazy("Add this member")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "today": self.member.today(self.now)}

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """The member's public id is made from the intent, so the same post adds one member."""
        try:
            self.made_id = uuid.uuid5(uuid.UUID(request.POST.get("intent", "")), "member")
        except ValueError:
            return super().post(request, *args, **kwargs)
        there = Member.objects.visible_to(self.member).filter(public_id=self.made_id).first()
        return self.answer(there) if there else super().post(request, *args, **kwargs)

    def form_valid(self, form: NewMemberForm) -> HttpResponse:
        try:
            made = self.add(form)
        except IntegrityError:
            form.add_error("username", CANNOT_BE_USED)
            return self.form_invalid(form)
        return self.answer(made)

    @transaction.atomic
    def add(self, form: NewMemberForm) -> Member:
        data = form.cleaned_data
        user = User.objects.create_user(
            data["username"],
            data["password1"],
            full_name=data["full_name"],
            is_role_account=data["is_role_account"],
        )
        made = Member.objects.create(
            public_id=self.made_id,
            organisation=self.member.organisation,
            user=user,
            role=data["role"],
            credential=data["credential"],
            from_day=data["from_day"],
        )
        self.log("member-added", made, role=data["role"])
        return made

    def answer(self, made: Member) -> HttpResponse:
        words = {"name": made.signed_name, "day": written(made.from_day)}
        messages.success(self.request, _("%(name)s has a place here from %(day)s.") % words)
        return redirect("members")


class EditMemberForm(MemberForm):
    through = DayField(
        label=gettext_lazy("Last day"),
        required=False,
        help_text=gettext_lazy("The day after it they have no place here. What they signed stays."),
    )

    def __init__(self, *args: Any, other: Member, is_own: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.other = other
        self.is_own = is_own
        for name in ("role", "credential", "through"):
            self.initial[name] = getattr(other, name)
        say_optional(self)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        if data.get("through") and data["through"] < self.other.from_day:
            self.add_error(
                "through", _("This day is before the first one, %(day)s.") % {"day": written(self.other.from_day)}
            )
        if self.is_own:
            for name in ("role", "through"):
                if name in data and data[name] != getattr(self.other, name):
                    self.add_error(name, _("Nobody changes this about themself. Ask another administrator."))
        return data


class EditMember(MemberPage):
    form_class = EditMemberForm
    button = gettext_lazy("Save")
    lead = gettext_lazy("A place ends with a last day and is never deleted.")

    def get_form_kwargs(self) -> dict[str, Any]:
        return {**super().get_form_kwargs(), "other": self.other, "is_own": self.other == self.member}

    @transaction.atomic
    def change(self, form: EditMemberForm) -> None:
        changed = {}
        for name in ("role", "credential", "through"):
            if getattr(self.other, name) != form.cleaned_data[name]:
                changed[name] = f"{name} {getattr(self.other, name) or '–'} → {form.cleaned_data[name] or '–'}"
                setattr(self.other, name, form.cleaned_data[name])
        self.other.save(update_fields=["role", "credential", "through"])
        if changed:
            self.log("member-changed", self.other, change=", ".join(changed.values()))

    def form_valid(self, form: EditMemberForm) -> HttpResponse:
        self.change(form)
        messages.success(self.request, _("%(name)s is changed.") % {"name": self.other.signed_name})
        return redirect("members")

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        return super().get_context_data(other=self.other, heading=self.other.user.full_name, **kwargs)
