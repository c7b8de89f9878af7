"""A caregiver's own pause: a hold on everything that they put themself, without a reason, until a member ends it.

A member ends it after talking with them: the one who asks for a pause is not hurried out of it by a stray touch.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from training.people.models import Caregiver, Member
from training.records.appending import lock_chain
from training.records.models import Record
from training.standing import deeds
from training.standing.pausing import Pause, pauses_of
from training.standing.questions import written


def pause_of(caregiver: Caregiver, records: Iterable[Record], day: date) -> Pause | None:
    return next((p for p in pauses_of(records, day) if p.caregiver == caregiver.case_id), None)


@transaction.atomic
def pause(*, caregiver: Caregiver, intent: uuid.UUID, at: datetime) -> Record:
    """Put everything on hold for this caregiver from today on. One pause at a time: a second wish is the first."""
    family, today = caregiver.family, caregiver.family.today(at)
    lock_chain(family.public_id)
    there = pause_of(caregiver, Record.objects.of_chain(family.public_id), today)
    if there is not None:
        return there.record
    body = {"caregiver": caregiver.case_id, "skill": None, "on": today.isoformat(), "through": None}
    return deeds.record(family=family, kind="hold", body=body, by=caregiver, intent=intent, at=at)


def say_ready(*, caregiver: Caregiver, open_pause: Pause, intent: uuid.UUID, at: datetime) -> Record:
    """The caregiver would like to go on: staff read it, and nothing changes by it."""
    body = {
        "caregiver": caregiver.case_id,
        "record": str(open_pause.record.intent),
        "on": caregiver.family.today(at).isoformat(),
        "said": _("I am ready to go on."),
    }
    return deeds.record(family=caregiver.family, kind="comment", body=body, by=caregiver, intent=intent, at=at)


@transaction.atomic
def end_pause(
    *, record: Record, caregiver: Caregiver, reason: str, by: Member, intent: uuid.UUID, at: datetime
) -> Record:
    """Void the open hold, and say by a closed one through yesterday that the days until now were a pause.

    Returns the void. The same intent again gives the void that is there.
    """
    family, today = caregiver.family, caregiver.family.today(at)
    begun, yesterday = date.fromisoformat(record.data["on"]), today - timedelta(days=1)
    closed = uuid.uuid5(intent, "pause")
    together = [str(intent), str(closed)] if begun <= yesterday else []
    about = {"record": str(record.intent), "reason": reason}
    void = deeds.record(family=family, kind="void", body=about, by=by, intent=intent, at=at, together=together)
    if together:
        said = {"name": caregiver.called, "day": written(today)}
        body = {
            "caregiver": caregiver.case_id,
            "skill": None,
            "on": begun.isoformat(),
            "through": yesterday.isoformat(),
            "reason": _("%(name)s paused themself; the pause ended on %(day)s.") % said,
        }
        deeds.record(family=family, kind="hold", body=body, by=by, intent=closed, at=at, together=together)
    return void
