"""One person's card in the files of several families of an organisation: one record each, one signature over all."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from training.people.models import Caregiver, Member
from training.records.appending import lock_chain
from training.records.models import Record
from training.standing import deeds


@transaction.atomic
def certificates(
    *,
    caregiver: Caregiver,
    also: Iterable[Caregiver],
    body: Mapping[str, Any],
    by: Member,
    intent: uuid.UUID,
    at: datetime,
) -> Record:
    """Write a card into a caregiver's file and into those where the same person is also a caregiver, all or none.

    Returns the first. Raises RefusedError, and writes nothing, where the rules of one of the families refuse it.
    """
    others = list(also)
    for chain in sorted(
        c.family.public_id for c in (caregiver, *others)
    ):  # in one order, so that two never wait in a ring
        lock_chain(chain)
    intents = {caregiver.pk: intent, **{c.pk: uuid.uuid5(intent, str(c.public_id)) for c in others}}
    together = [str(one) for one in intents.values()]
    made = [
        deeds.record(
            family=c.family,
            kind="certificate",
            body={**body, "caregiver": c.case_id},
            by=by,
            intent=intents[c.pk],
            at=at,
            together=together,
        )
        for c in (caregiver, *others)
    ]
    return made[0]
