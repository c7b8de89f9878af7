"""One person, several places: a member somewhere, a caregiver in a family or two. One at a time is worn.

The session's PLACE holds the public id of the one that was chosen: a member's or a caregiver's. What belongs to another
one is not there until it is chosen.
"""

from __future__ import annotations

import uuid
from dataclasses import dataclass
from datetime import date, datetime

from django.conf import settings
from django.contrib.sessions.backends.base import SessionBase
from django.utils.translation import gettext as _

from training.people.access import memberships
from training.people.models import Caregiver, Member, User

PLACE = "member"  # the session's word for the place a person chose; the name is older than a caregiver's hat
TOUCHED = "touched"  # when a caregiver last opened a page, in seconds
SEVERAL = "several_places"  # whether the bar offers the way to another one


@dataclass(frozen=True, slots=True, kw_only=True)
class Hat:
    """One of a person's places. says: in a few words, for a menu."""

    place: Member | Caregiver
    says: str

    @property
    def public_id(self) -> uuid.UUID:
        return self.place.public_id

    @property
    def is_caregiver(self) -> bool:
        return isinstance(self.place, Caregiver)


def caregiving(user: User, now: datetime) -> list[Caregiver]:
    """Where this account stands for a caregiver who is in the family on its own today."""
    rows = Caregiver.objects.of(user).select_related("family__organisation", "family__enrolment__programme")
    return [c for c in rows.order_by("pk") if is_in_family(c, c.family.today(now))]


def is_in_family(caregiver: Caregiver, today: date) -> bool:
    begun = caregiver.from_day is None or caregiver.from_day <= today
    return begun and (caregiver.through is None or today <= caregiver.through)


def hats(user: User, now: datetime) -> list[Hat]:
    """Every place of today: those of a member first, then those of a caregiver; each oldest first."""
    members = [Hat(place=m, says=_as_member(m)) for m in memberships(user, now)]
    return [*members, *(Hat(place=c, says=_as_caregiver(c)) for c in caregiving(user, now))]


def _as_member(member: Member) -> str:
    said = {"role": member.get_role_display(), "organisation": member.organisation.title}
    return _("%(role)s at %(organisation)s") % {**said, "role": said["role"][:1].upper() + said["role"][1:]}


def _as_caregiver(caregiver: Caregiver) -> str:
    if caregiver.is_patient:
        return _("%(name)s, for yourself") % {"name": caregiver.called}
    return _("%(name)s for %(patient)s") % {"name": caregiver.called, "patient": caregiver.family.patient_called}


def chosen(session: SessionBase, mine: list[Hat]) -> Hat | None:
    """The place worn: the one that was chosen, or the only one. None while there are several and none is chosen."""
    found = next((hat for hat in mine if str(hat.public_id) == session.get(PLACE)), None)
    return found or (mine[0] if len(mine) == 1 else None)


def leave_soon(session: SessionBase, now: datetime) -> None:
    """Let the session end when it is left alone for a caregiver's minutes; written once a minute, not at every look."""
    instant = int(now.timestamp())
    if instant - session.get(TOUCHED, 0) >= 60:
        session[TOUCHED] = instant
        session.set_expiry(settings.CAREGIVER_IDLE_MINUTES * 60)


def put_on(session: SessionBase, hat: Hat) -> None:
    """From here on this place. Staff's session has its own length again: a caregiver's is shorter."""
    session[PLACE] = str(hat.public_id)
    if not hat.is_caregiver:
        session.pop(TOUCHED, None)
        session.set_expiry(None)
