"""Who looked at what. An entry is written before the answer leaves."""

from __future__ import annotations

import logging
from contextlib import AbstractContextManager, nullcontext
from datetime import datetime

from django.db import DatabaseError, OperationalError, connection, transaction

from training.log.models import Entry
from training.log.writing import About, Who, who, write
from training.people.access import Right, may
from training.people.models import Caregiver, Member, Organisation

log = logging.getLogger("training.log")

PATIENCE = 2.0  # seconds that a page waits for its entry where many are writing


class NotLoggedError(OperationalError):
    """The read could not be written in the log, so nothing is shown."""


def read(*, by: Member | Caregiver, what: str, at: datetime, of: About | None = None) -> None:
    """Log that somebody was shown something.

    Where the entry cannot be written, whoever cares for a patient is shown the page all the same, and the entry goes
    to the site's own log as ids: a nurse at a bedside must be able to read. Anybody else is refused: NotLoggedError.
    """
    organisation, reader = _of(by)
    try:
        with _patience(), transaction.atomic():
            write(organisation, Entry.Kind.READ, what, reader, at, of, words=_count(of))
    except DatabaseError as error:
        if not is_carer(by):
            raise NotLoggedError("the read could not be written in the log") from error
        log.error(
            "Not in the log, but shown: %s of %s by %s (%s)", what, of.id if of else "-", reader.id, _short(error)
        )


def is_carer(person: Member | Caregiver) -> bool:
    """Whether somebody may have to read to keep a patient safe: caregivers, and members who may record."""
    return isinstance(person, Caregiver) or may(person, Right.RECORD)


def _of(person: Member | Caregiver) -> tuple[Organisation, Who]:
    home = person if isinstance(person, Member) else person.family
    return home.organisation, who(person)


def _count(of: About | None) -> dict[str, int]:
    return {"families": of.families} if of is not None and of.families else {}


def _short(error: Exception) -> str:
    """The kind of failure alone: a database repeats values in its words."""
    return type(error).__name__


def _patience() -> AbstractContextManager[None]:
    waiting = getattr(connection, "patience", None)  # SQLite's, whose writers wait in line
    return waiting(PATIENCE) if waiting else nullcontext()
