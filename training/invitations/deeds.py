"""What is done with invitations: made, withdrawn, looked up, used; and an account taken away again."""

from __future__ import annotations

import unicodedata
import uuid
from collections.abc import Callable
from datetime import date, datetime, timedelta

from django.db import transaction

from training.invitations import tries
from training.invitations.codes import digest_of, new_code
from training.invitations.models import Invitation, InvitationQuerySet, RemovedAccount
from training.people.models import Caregiver, Member, User
from training.tenancy import scope

VALID_FOR = timedelta(days=14)


class NotInvitedError(Exception):
    """This caregiver cannot be invited: an account is there already, or their last day is over."""


class NoSuchCodeError(Exception):
    """No invitation is open under this code. Unknown, used, too old and withdrawn are one and the same to who asks."""


class NotThisPersonError(Exception):
    """The answers do not fit the person the code was made for. The invitation stays open."""


class NotThisAccountError(Exception):
    """The account stands for another caregiver of this family. The invitation stays open."""


# By a member ----------------------------------------------------------------------------------------------


@transaction.atomic
def invite(*, caregiver: Caregiver, by: Member, intent: uuid.UUID, now: datetime) -> tuple[Invitation, str]:
    """Make a code; one that is open already is withdrawn. Returns the code this once, and "" for the same post again.

    Raises NotInvitedError.
    """
    there = Invitation.objects.filter(public_id=intent, caregiver=caregiver).first()
    if there is not None:
        return there, ""
    held = _locked(caregiver.pk)
    if held.user_id is not None or (held.through is not None and held.through < held.family.today(now)):
        raise NotInvitedError
    withdraw(caregiver=held, by=by, now=now)
    code = new_code()
    made = Invitation.objects.create(
        public_id=intent,
        caregiver=held,
        digest=digest_of(code),
        made_by=by.signed_name,
        made_at=now,
        expires_at=now + VALID_FOR,
    )
    return made, code


def withdraw(*, caregiver: Caregiver, by: Member, now: datetime) -> bool:
    """End the open invitation, where there is one."""
    open_ones = Invitation.objects.unanswered().filter(caregiver=caregiver)
    return bool(open_ones.update(withdrawn_at=now, withdrawn_by=by.signed_name))


@transaction.atomic
def remove_account(*, caregiver: Caregiver, reason: str, by: Member, now: datetime) -> RemovedAccount | None:
    """Take the account away from a caregiver: from the next request on it leads nowhere. None where there is none."""
    held = _locked(caregiver.pk)
    if held.user is None:
        return None
    account = held.user.username
    held.user = None
    held.save(update_fields=["user"])
    return RemovedAccount.objects.create(caregiver=held, account=account, reason=reason, by=by.signed_name, at=now)


def _locked(caregiver: int) -> Caregiver:
    """The row, held until the transaction ends: two who come at once do one after the other."""
    rows = Caregiver.objects.select_for_update(of=("self",)).select_related("family", "user")
    return rows.get(pk=caregiver)


# By who holds the code ------------------------------------------------------------------------------------


def look_up(code: str, *, address: str, now: datetime) -> Invitation:
    """The open invitation of this code. Raises NoSuchCodeError, which counts, and TooManyTriesError."""
    tries.check_not_too_many(address, now)
    digest = digest_of(code)
    work_where_invited(digest)
    found = _rows().filter(digest=digest).first()
    if found is None or not found.is_open(now):
        tries.count_one(address, now)
        raise NoSuchCodeError
    return found


def still_open(public_id: uuid.UUID, now: datetime) -> Invitation | None:
    """The invitation somebody has typed the code of, while it is open."""
    work_where_invited(str(public_id))
    found = _rows().filter(public_id=public_id).first()
    return found if found is not None and found.is_open(now) else None


def work_where_invited(key: str) -> None:
    """Who holds an invitation's digest or id may read of its organisation what these pages ask; they show a letter."""
    organisation = scope.inviting(key)
    if organisation is not None:
        scope.work_in(organisation)


def check_person(invitation: Invitation, *, name: str, born: date | None, address: str, now: datetime) -> None:
    """The person knows what they are called here and, where it is on file, when they were born.

    Raises NotThisPersonError, which counts, and TooManyTriesError.
    """
    tries.check_not_too_many(address, now)
    caregiver = invitation.caregiver
    names = {_folded(n) for n in (caregiver.called, caregiver.full_name, *caregiver.full_name.split()[:1])}
    if _folded(name) not in names or (caregiver.born is not None and born != caregiver.born):
        tries.count_one(address, now)
        raise NotThisPersonError


def _folded(name: str) -> str:
    """A name as it is compared: without case, accents and doubled spaces."""
    parts = unicodedata.normalize("NFKD", name.replace("’", "'").casefold())
    return " ".join("".join(c for c in parts if not unicodedata.combining(c)).split())


@transaction.atomic
def use(public_id: uuid.UUID, *, account: Callable[[Caregiver], User], now: datetime) -> Caregiver:
    """Give the caregiver of an open invitation an account, and close the invitation.

    account: gives the account, called once the invitation is held, so that two posts at once make one.
    Raises NoSuchCodeError and NotThisAccountError; then nothing is written.
    """
    work_where_invited(str(public_id))
    found = Invitation.objects.filter(public_id=public_id).first()
    if found is None:
        raise NoSuchCodeError
    caregiver = _locked(found.caregiver_id)
    invitation = _rows().get(pk=found.pk)  # as it is now that nobody else can use it
    if not invitation.is_open(now):
        raise NoSuchCodeError
    user = account(caregiver)
    if Caregiver.objects.filter(family=caregiver.family_id, user=user).exists():
        raise NotThisAccountError
    caregiver.user = user
    caregiver.save(update_fields=["user"])
    Invitation.objects.filter(pk=invitation.pk).update(used_at=now, used_by=user)
    return caregiver


def _rows() -> InvitationQuerySet:
    return Invitation.objects.select_related("caregiver__family")
