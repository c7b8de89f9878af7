"""Sign-ins, failed ones, sign-outs, locks, and what is done to an account: an entry wherever the person has a place."""

from __future__ import annotations

import logging
from collections.abc import Iterator, Mapping
from contextlib import suppress
from typing import Any

from django.contrib.auth.signals import user_logged_in, user_logged_out, user_login_failed
from django.db import DatabaseError, transaction
from django.utils import timezone

from training.log.models import Entry
from training.log.writing import Who, who, write
from training.people.access import memberships
from training.people.models import Caregiver, Member, User
from training.tenancy.scope import as_account

log = logging.getLogger("training.log")


def listen(*, locks: bool) -> None:
    """Connect the signals. locks: whether the app that locks accounts out is installed."""
    user_logged_in.connect(_came, dispatch_uid="log")
    user_logged_out.connect(_went, dispatch_uid="log")
    user_login_failed.connect(_failed, dispatch_uid="log")
    if locks:
        from axes.signals import user_locked_out

        user_locked_out.connect(_locked, dispatch_uid="log")


def _came(sender: Any, user: User, **kwargs: Any) -> None:
    came_or_went(user, "signed-in")


def _went(sender: Any, user: User | None, **kwargs: Any) -> None:
    if user is not None:
        came_or_went(user, "signed-out")


def _failed(sender: Any, credentials: Mapping[str, Any], **kwargs: Any) -> None:
    _by_name(credentials.get("username"), "sign-in-failed")


def _locked(sender: Any, username: str | None = None, **kwargs: Any) -> None:
    _by_name(username, "locked-out")


def _by_name(username: str | None, what: str) -> None:
    """Only where there is such an account: what else was typed may be anything, a password too."""
    with suppress(User.DoesNotExist):
        came_or_went(User.objects.get_by_natural_key(username), what)


def came_or_went(user: User, what: str) -> None:
    """Log it wherever this person has a place now. A log that cannot be written keeps nobody from their patient."""
    try:
        with transaction.atomic():
            own_account(user, what)
    except DatabaseError as error:
        log.error("Not in the log: %s of account %s (%s)", what, user.pk, type(error).__name__)


def own_account(user: User, what: str, *, by: Who | None = None) -> None:
    """Log what was done to an account, by its holder or by another; call it in the deed's transaction."""
    now = timezone.now()
    with as_account(user.pk):
        for place in _places(user, now):
            home, person = place if isinstance(place, Member) else place.family, who(place)
            words = {"member": person.name} if by else {}
            write(home.organisation, Entry.Kind.ACCESS, what, by or person, now, words=words)


def _places(user: User, now: Any) -> Iterator[Member | Caregiver]:
    """One for each organisation: the person's membership, else their first family there."""
    members = memberships(user, now)
    yield from members
    seen = {m.organisation_id for m in members}
    for caregiver in Caregiver.objects.of(user).select_related("family__organisation").order_by("pk"):
        if caregiver.family.organisation_id not in seen:
            seen.add(caregiver.family.organisation_id)
            yield caregiver
