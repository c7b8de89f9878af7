"""Guessing is slowed down: so many that did not fit from one address, and so many in all where it could be guessed.
In the database, so that every process counts alike. The bound over all is wide, and each kind has its own.
"""

from __future__ import annotations

from datetime import datetime, timedelta

from training.invitations.codes import keyed
from training.invitations.models import TriedCode

WINDOW = timedelta(minutes=15)
KEPT = timedelta(days=1)
FROM_ONE, IN_ALL = 10, 1000


class TooManyTriesError(Exception):
    """So many did not fit lately that none is looked at for a while, right or wrong."""


def check_not_too_many(
    address: str | None,
    now: datetime,
    of: str = "address",
    at_most: int = FROM_ONE,
    *,
    is_guessable: bool = True,
) -> None:
    """of: what is tried there; each is counted by itself. Raises TooManyTriesError.

    is_guessable: whether many addresses together could come upon one; otherwise they are not counted together, and
    nobody is kept out because of what others send.
    """
    lately = TriedCode.objects.filter(of=of, at__gt=now - WINDOW)
    if lately.filter(source=keyed(of, str(address))).count() >= at_most:
        raise TooManyTriesError
    if is_guessable and lately.count() >= IN_ALL:
        raise TooManyTriesError


def count_one(address: str | None, now: datetime, of: str = "address") -> None:
    TriedCode.objects.filter(at__lte=now - KEPT).delete()
    TriedCode.objects.create(of=of, source=keyed(of, str(address)), at=now)
