"""Adding to the log. A deed's entry is written in the deed's transaction: both are there, or neither."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils import translation

from training.log.models import Entry
from training.people.models import Caregiver, Family, Member, Organisation
from training.tenancy.scope import filed_in

_view: ContextVar[str] = ContextVar("view", default="")


@contextmanager
def at_view(name: str) -> Iterator[None]:
    """Entries written inside name this view. A command has none."""
    token = _view.set(name)
    try:
        yield
    finally:
        _view.reset(token)


@dataclass(frozen=True, slots=True, kw_only=True)
class Who:
    """Somebody as the log names them."""

    id: str
    name: str
    role: str


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What an entry is about: a family, by its id and name; or anything else that has a chain."""

    id: str
    name: str
    families: int = 0  # where it is a list of so many


THE_SITE = Who(id="", name="the register’s keeper, by command", role="")


def who(person: Member | Caregiver) -> Who:
    """A member in their role, a caregiver by who they are to the patient; in the language of the records."""
    if isinstance(person, Caregiver):
        return Who(id=str(person.public_id), name=person.full_name, role=person.relation)
    with translation.override("en"):
        return Who(id=str(person.public_id), name=person.signed_name, role=str(person.get_role_display()))


def about(family: Family) -> About:
    return About(id=str(family.public_id), name=family.name)


def many(families: int) -> About:
    """A list of families: which ones, the log does not say one by one."""
    return About(id="", name="", families=families)


def deed(
    *,
    organisation: Organisation,
    what: str,
    by: Who,
    at: datetime,
    of: About | None = None,
    number: int | None = None,
    **words: str,
) -> Entry:
    """Log what somebody did. Call it inside the deed's transaction."""
    return write(organisation, Entry.Kind.DEED, what, by, at, of, number, words)


def write(
    organisation: Organisation,
    kind: Entry.Kind,
    what: str,
    by: Who,
    at: datetime,
    of: About | None = None,
    number: int | None = None,
    words: dict[str, Any] | None = None,
) -> Entry:
    """Add one entry. The one place that does."""
    with filed_in(organisation.pk):
        return Entry.objects.create(
            organisation=organisation,
            at=at,
            kind=kind,
            what=what,
            words=words or {},
            who_id=by.id,
            who_name=by.name,
            who_role=by.role,
            about_id=of.id if of else "",
            about_name=of.name if of else "",
            number=number,
            view=_view.get(),
        )
