"""What every view starts from: who is asking, in which place, with which right; object and permission together."""

from __future__ import annotations

import uuid
from datetime import date, datetime
from functools import cached_property, partial
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.contrib.auth.mixins import AccessMixin
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views import View

from training.log.reading import read
from training.log.writing import About, about
from training.pages.entry.second_factor import must_enrol
from training.pages.handover.place import offers_place
from training.pages.hats import PLACE, caregiving
from training.people.access import Right, may, memberships
from training.people.models import Caregiver, Family, Member
from training.standing.file import FamilyFile, open_file
from training.standing.questions import FamilyOn
from training.tenancy.replica import read_apart
from training.tenancy.scope import work_in


class UnreadDateError(ValueError):
    """A file was asked for on a date that cannot be read: one of another date would look right."""


class MemberView(AccessMixin, View):
    """A page for staff. A visitor signs in, somebody without a place gets 404, a colleague without the right 403.

    right: what the page asks for; a view that names none fails at once. logs_itself: showing it is a deed, which the
    view logs. gives_file: the answer is a file and not a page. over_families: it answers for many at once and changes
    nothing, so a replica may be read for it. The clock is read here, once.
    """

    right: Right
    logs_itself = False
    gives_file = False
    over_families = False
    member: Member
    now: datetime

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if not request.user.is_authenticated:
            return self.handle_no_permission()
        self.now = timezone.now()
        self.member = find_member(request, self.now)
        work_in(self.member.organisation_id)
        request.membership = self.member
        request.places = [*places_of(self.member, request), *offers_place(self.member, request, self.now)]
        if must_enrol(request.user, self.member.organisation):
            return redirect("second-factor")
        self.find()
        if not may(self.member, self.right):
            raise PermissionDenied
        show = partial(super().dispatch, request, *args, **kwargs)
        try:
            answer = read_apart(show) if self.over_families and request.method in ("GET", "HEAD") else show()
        except UnreadDateError:
            return render(request, "date_not_read.html", status=HTTPStatus.BAD_REQUEST)
        if answer.status_code == HTTPStatus.OK and not self.logs_itself and request.method != "OPTIONS":
            self.note_read()  # OPTIONS shows nothing
        return answer

    def note_read(self) -> None:
        """Log what this member is about to be shown; of an auditor every page. Raises NotLoggedError."""
        reading = self.reading()
        if reading is not None or self.member.role == Member.Role.AUDITOR:
            what, of = reading or ("page", None)
            read(by=self.member, what=what, at=self.now, of=of)

    def reading(self) -> tuple[str, About | None] | None:
        """What the log calls a look at this page, and about whom; None where it shows nothing of a family."""
        return None

    def find(self) -> None:
        """Fetch what the page is about, before the right is asked: a stranger to it gets 404, never 403."""

    def may(self, right: Right) -> bool:
        return may(self.member, right)

    def day_asked(self, today: date) -> date:
        """The date in ``?on=``; today where there is none.

        Of one that cannot be read a page says so and answers for today; a file raises UnreadDateError.
        """
        asked = self.request.GET.get("on", "")
        try:
            return date.fromisoformat(asked) if asked else today
        except ValueError:
            if self.gives_file:
                raise UnreadDateError from None
            messages.warning(self.request, _("The date in the address could not be read. This is today."))
            return today


def find_member(request: HttpRequest, now: datetime) -> Member:
    """The place this person works in: the one they chose, or their only one.

    Raises Http404 without any, and while they are here as a caregiver.
    """
    found = memberships(request.user, now)
    if not found:
        raise Http404
    chosen = request.session.get(PLACE)
    worn = next((m for m in found if str(m.public_id) == chosen), None)
    if worn is None and chosen and any(str(c.public_id) == chosen for c in caregiving(request.user, now)):
        raise Http404
    return worn or found[0]


def places_of(member: Member, request: HttpRequest) -> list[tuple[str, str, bool]]:
    """The navigation: title, address, whether it is the page's own."""
    places = []
    if member.role in (Member.Role.SUPERVISOR, Member.Role.AUDITOR, Member.Role.ADMINISTRATOR):
        places.append((_("All families"), reverse("board")))
        places.append((_("Questions"), reverse("questions")))
    places.append((_("My families") if member.role == Member.Role.EDUCATOR else _("Families"), reverse("families")))
    places.append((_("Checklists"), reverse("programmes")))
    if may(member, Right.ADMINISTER):
        places.append((_("Members"), reverse("members")))
    if may(member, Right.READ_LOG):
        places.append((_("The log"), reverse("log")))
    return [(str(title), url, request.path == url) for title, url in places]


class FamilyView(MemberView):
    """A page about one family, found among those this member may see. ``?on=`` is the date it answers for."""

    right = Right.READ

    def find(self) -> None:
        _found = self.family

    def reading(self) -> tuple[str, About | None] | None:
        return "family", about(self.family)

    @cached_property
    def family(self) -> Family:
        rows = Family.objects.visible_to(self.member).select_related("organisation", "enrolment__programme")
        return get_object_or_404(rows, public_id=self.kwargs["family"])

    @cached_property
    def file(self) -> FamilyFile:
        return open_file(self.family)

    @cached_property
    def today(self) -> date:
        return self.family.today(self.now)

    @cached_property
    def day(self) -> date:
        """The date asked for, or the family's today."""
        return self.day_asked(self.today)

    @cached_property
    def picture(self) -> FamilyOn:
        """The family on the date asked for, with everything recorded by now."""
        return FamilyOn(self.file, self.day, self.known_at)

    @property
    def known_at(self) -> datetime | None:
        return None

    @cached_property
    def caregiver(self) -> Caregiver:
        """The caregiver of the address; 404 where they are not of this family."""
        return get_object_or_404(self.family.caregivers.select_related("family"), public_id=self.kwargs["caregiver"])

    @cached_property
    def skill(self) -> str:
        """The skill of the address; 404 where the programme has none of this code."""
        if self.kwargs["skill"] not in self.file.rules.skills:
            raise Http404
        return str(self.kwargs["skill"])


def new_intent() -> uuid.UUID:
    """A fresh intent for a form that is shown for the first time; it comes back with the post."""
    return uuid.uuid4()
