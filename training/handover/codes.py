"""Hand-over codes: enough letters that nobody comes upon one by trying, none that are mistaken for another."""

from __future__ import annotations

import secrets
from datetime import datetime

from django.db import transaction

from training.handover.models import HandoverCode
from training.people.models import Organisation
from training.tenancy import scope

LETTERS = "ABCDEFGHJKMNPQRSTUVWXYZ23456789"
LENGTH = 12  # of 31 letters each: some 59 bits
GROUP = 4


def new_code() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def code_of(organisation: Organisation, now: datetime) -> HandoverCode:
    """The organisation's code, made the first time it is asked for."""
    made = {"code": new_code(), "made_at": now}
    return HandoverCode.objects.get_or_create(organisation=organisation, defaults=made)[0]


@transaction.atomic
def change_code(organisation: Organisation, now: datetime) -> HandoverCode:
    """A new code; the one before names nobody from now on."""
    made = {"code": new_code(), "made_at": now}
    return HandoverCode.objects.update_or_create(organisation=organisation, defaults=made)[0]


def organisation_with(typed: str) -> Organisation | None:
    """The organisation that a code names, as typed: in any case, with spaces or dashes."""
    code = "".join(c for c in typed.upper() if c.isascii() and c.isalnum())
    with scope.inside(scope.with_handover_code(code) or 0):
        found = HandoverCode.objects.filter(code=code).select_related("organisation").first()
    return found.organisation if found else None


def grouped(code: str) -> str:
    return "-".join(code[at : at + GROUP] for at in range(0, len(code), GROUP))
