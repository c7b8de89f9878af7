"""Giving a document out: its bytes are registered first, so that whoever gets it can check it."""

from __future__ import annotations

import hashlib
from datetime import date, datetime

from django.db import transaction

from training.issuing.basis import Basis
from training.issuing.models import Document
from training.tenancy import scope


@transaction.atomic
def register(*, number: str, data: bytes, basis: Basis, on: date, at: datetime) -> Document:
    """Keep what these bytes are; the same bytes again are no second row. Who got them is in the log, as a read."""
    family = basis.file.family
    made = {
        "organisation": family.organisation,
        "family": family,
        "caregiver": basis.caregiver,
        "kind": basis.kind,
        "on": on,
        "made_at": at,
        "family_number": basis.family.number,
        "family_head": basis.family.digest,
        "programme_number": basis.programme.number,
        "programme_head": basis.programme.digest,
        "staff_number": basis.staff.number,
        "staff_head": basis.staff.digest,
    }
    digest = hashlib.sha256(data).hexdigest()
    with scope.filed_in(family.organisation_id):
        return Document.objects.get_or_create(number=number, sha256=digest, defaults=made)[0]
