"""Giving a document out: its bytes are registered first, so that whoever gets it can check it."""

from __future__ import annotations

import hashlib
from datetime import date, datetime

from django.db import transaction

from training.issuing.basis import Basis
from training.issuing.models import Document
from training.log import writing as log
from training.people.models import Caregiver, Member
from training.tenancy import scope


@transaction.atomic
def register(*, number: str, data: bytes, basis: Basis, on: date, by: Member | Caregiver, at: datetime) -> Document:
    """Keep what these bytes are. The first time is a deed, which is logged; the same bytes again are no second row."""
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
    with scope.filed_in(family.organisation_id):
        document, is_new = Document.objects.get_or_create(
            number=number, sha256=hashlib.sha256(data).hexdigest(), defaults=made
        )
    if is_new:
        log.deed(
            organisation=family.organisation,
            what="document-given-out",
            by=log.who(by),
            at=at,
            of=log.about(family),
            document=number,
        )
    return document
