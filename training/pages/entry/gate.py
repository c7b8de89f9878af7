"""The one place where a password is tried, whether to sign in, to sign, or to unlock a device."""

from __future__ import annotations

from datetime import datetime
from math import ceil
from typing import Any

from axes.handlers.proxy import AxesProxyHandler
from django.contrib.auth import authenticate
from django.contrib.auth.signals import user_login_failed
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext as _

from training.pages.entry.lock import digest_of, try_again_at
from training.people.models import User


class LockedOutError(Exception):
    """Too many wrong tries with this account at this address; none counts before ``until``."""

    def __init__(self, until: datetime) -> None:
        self.until = until
        super().__init__(until.isoformat())

    @property
    def minutes(self) -> int:
        return max(1, ceil((self.until - timezone.now()).total_seconds() / 60))

    def __str__(self) -> str:
        return _(
            "Too many wrong passwords or codes. Try again in %(minutes)s min, or ask an administrator to lift the lock."
        ) % {"minutes": self.minutes}


def _bare(address: str | None) -> HttpRequest:
    """A request with nothing in it but where it comes from: the count keeps what it is given."""
    request = HttpRequest()
    request.META = {"REMOTE_ADDR": address or ""}
    return request


def known(*, username: str, password: str, address: str | None) -> User | None:
    """The account of this name, if the password is its own; a wrong one is counted. Raises LockedOutError."""
    request: Any = _bare(address)
    found = authenticate(request, username=username, password=password)
    if found is None and request.axes_locked_out:
        raise LockedOutError(try_again_at(username, address))
    return found


def check_open(*, username: str, address: str | None) -> None:
    """Raises LockedOutError where nothing more may be tried for now."""
    if not AxesProxyHandler.is_allowed(_bare(address), {"username": username}):
        raise LockedOutError(try_again_at(username, address))


def count_wrong(*, username: str, address: str | None) -> None:
    """Count a wrong code as a wrong password is counted. Raises LockedOutError where it was one too many."""
    request: Any = _bare(address)
    user_login_failed.send(sender=__name__, credentials={"username": username}, request=request)
    if request.axes_locked_out:
        raise LockedOutError(try_again_at(username, address))


def forget_wrong(*, username: str, address: str | None = None) -> None:
    """What was counted is forgotten: at one address, or at every one."""
    AxesProxyHandler.reset_attempts(username=digest_of(username), ip_address=address)
