"""The second factor: a code from an app, or one of ten recovery codes. The rows are allauth's; what is spent is spent.

A code works once, whichever process it is tried on: the last half minute that was used is kept with the secret.
Recovery codes are kept as digests, so nobody reads them out of the database.
"""

from __future__ import annotations

import hashlib
import secrets
from urllib.parse import quote

from allauth.mfa.models import Authenticator
from allauth.mfa.totp.internal.auth import (
    format_hotp_value,
    generate_totp_secret,
    hotp_value,
    yield_hotp_counters_from_time,
)
from django.db import transaction
from django.utils import timezone

from training.people.models import Organisation, User

TOTP, RECOVERY, PASSKEY = (Authenticator.Type[name] for name in ("TOTP", "RECOVERY_CODES", "WEBAUTHN"))
LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"  # none is mistaken for another
CODES, LENGTH = 10, 10


class UsedAlreadyError(Exception):
    """The code is right and was used before; the app shows another within half a minute."""


def has_second_factor(user: User) -> bool:
    return Authenticator.objects.filter(user=user.pk, type=TOTP).exists()


def must_enrol(user: User, organisation: Organisation) -> bool:
    """Whether this organisation lets this member do nothing before they have a second factor."""
    return organisation.second_factor_required and not has_second_factor(user)


def new_secret() -> str:
    return str(generate_totp_secret())


def app_address(secret: str, *, name: str, site: str) -> str:
    """What the QR code tells the app."""
    return f"otpauth://totp/{quote(site, safe='')}:{quote(name, safe='')}?secret={secret}&issuer={quote(site, safe='')}"


def counter_of(secret: str, code: str) -> int | None:
    """The half minute, of the one now and its neighbours, whose code this is; the latest of several."""
    matching = (c for c in yield_hotp_counters_from_time() if _same(format_hotp_value(hotp_value(secret, c)), code))
    return max(matching, default=None)


def _same(one: str, other: str) -> bool:
    return secrets.compare_digest(one.encode(), other.encode())


def plain(code: str) -> str:
    """A code as it is compared: without spaces and dashes, in lower case."""
    return "".join(letter for letter in code.casefold() if letter.isalnum())


# Turning it on and off -------------------------------------------------------------------------------------


@transaction.atomic
def turn_on(user: User, *, secret: str, code: str) -> list[str] | None:
    """Keep the secret, spend the code that proved it, and give the recovery codes; None where the code is wrong."""
    counter = counter_of(secret, plain(code))
    if counter is None:
        return None
    turn_off(user)
    Authenticator.objects.create(user=user, type=TOTP, data={"secret": secret, "spent": counter})
    return new_recovery_codes(user)


@transaction.atomic
def new_recovery_codes(user: User) -> list[str]:
    """Ten codes, shown once; the ones before them are void."""
    codes = ["".join(secrets.choice(LETTERS) for _n in range(LENGTH)) for _n in range(CODES)]
    Authenticator.objects.filter(user=user.pk, type=RECOVERY).delete()
    Authenticator.objects.create(user=user, type=RECOVERY, data={"digests": [_digest(code) for code in codes]})
    return [f"{code[:5]}-{code[5:]}" for code in codes]


def turn_off(user: User) -> None:
    """The app, the recovery codes and the passkeys: a passkey stands in for the code, and falls with it."""
    Authenticator.objects.filter(user=user.pk).delete()


def recovery_codes_left(user: User) -> int:
    row = Authenticator.objects.filter(user=user.pk, type=RECOVERY).first()
    return len(row.data["digests"]) if row else 0


# Using it --------------------------------------------------------------------------------------------------


@transaction.atomic
def spend(user: User, code: str) -> bool:
    """Whether this is the code of now or a recovery code, which is then used up. Raises UsedAlreadyError."""
    code = plain(code)
    return _spend_code(user, code) if code.isdigit() and len(code) < LENGTH else _spend_recovery_code(user, code)


def _spend_code(user: User, code: str) -> bool:
    row = Authenticator.objects.select_for_update().filter(user=user.pk, type=TOTP).first()
    counter = counter_of(row.data["secret"], code) if row else None
    if row is None or counter is None:
        return False
    if counter <= row.data["spent"]:
        raise UsedAlreadyError
    _keep(row, spent=counter)
    return True


def _spend_recovery_code(user: User, code: str) -> bool:
    row = Authenticator.objects.select_for_update().filter(user=user.pk, type=RECOVERY).first()
    if row is None or _digest(code) not in row.data["digests"]:
        return False
    _keep(row, digests=[kept for kept in row.data["digests"] if kept != _digest(code)])
    return True


def _keep(row: Authenticator, **changes: object) -> None:
    row.data = {**row.data, **changes}
    row.last_used_at = timezone.now()
    row.save(update_fields=["data", "last_used_at"])


def _digest(code: str) -> str:
    """Fifty bits of chance need no slow hash."""
    return hashlib.sha256(code.encode()).hexdigest()
