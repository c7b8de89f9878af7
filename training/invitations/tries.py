"""Guessing is slowed down: so many that did not fit from one address, and so many in all. In the database, so that
every process counts alike. The bound over all is wide: nobody is kept out because somebody else is guessing.
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


def check_not_too_many(address: str | None, now: datetime, of: str = "address", at_most: int = FROM_ONE) -> None:
    """of: what is tried there; each is counted by itself. Raises TooManyTriesError."""
    lately = TriedCode.objects.filter(at__gt=now - WINDOW)
    if lately.filter(source=keyed(of, str(address))).count() >= at_most or lately.count() >= IN_ALL:
        raise TooManyTriesError


def count_one(address: str | None, now: datetime, of: str = "address") -> None:
    TriedCode.objects.filter(at__lte=now - KEPT).delete()
    TriedCode.objects.create(source=keyed(of, str(address)), at=now)
