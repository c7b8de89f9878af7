"""Who may not try again for now: what the counting of wrong passwords and codes is told, and what it is kept from.

The count is django-axes', in the database, so that it holds across processes. It sees a digest of the name and a bare
request: no name that somebody typed, no form and no browser gets into its table.
"""

from __future__ import annotations

import ipaddress
from datetime import datetime
from typing import Any

from axes.backends import AxesStandaloneBackend
from axes.handlers.database import AxesDatabaseHandler
from axes.models import AccessAttempt
from django.conf import settings
from django.db.models import Sum
from django.http import HttpRequest
from django.utils import timezone
from django.utils.crypto import salted_hmac

from training.people.models import User


def address_of(request: HttpRequest) -> str | None:
    """Where the request comes from; of IPv6 the network, since one household has more addresses than can be counted.

    Behind a proxy it is the last entry of the header that the settings name, which the proxy itself wrote.
    """
    header = settings.CLIENT_ADDRESS_HEADER
    told = request.headers.get(header, "").split(",")[-1].strip() if header else ""
    for text in (told, request.META.get("REMOTE_ADDR", "")):
        try:
            found = ipaddress.ip_address(text)
        except ValueError:
            continue
        return str(found if found.version == 4 else ipaddress.ip_network((found, 64), strict=False).network_address)
    return None


def digest_of(username: str) -> str:
    return salted_hmac("training.entry.lock", User.normalize_username(username), algorithm="sha256").hexdigest()


def counted_name(request: HttpRequest, credentials: dict[str, Any] | None = None) -> str:
    """The name under which tries are counted, for names that exist and names that do not."""
    return digest_of(str((credentials or {}).get("username") or ""))


def _recent(**of: Any) -> Any:
    return AccessAttempt.objects.filter(attempt_time__gte=timezone.now() - settings.AXES_COOLOFF_TIME, **of)


class Handler(AxesDatabaseHandler):
    """Locks one account at one address; an address as a whole much later, so that nobody locks a ward."""

    def is_locked(self, request: HttpRequest, credentials: dict[str, Any] | None = None) -> bool:
        return super().is_locked(request, credentials) or self.is_address_locked(request.axes_ip_address)

    def is_address_locked(self, address: str | None) -> bool:
        if address is None:
            return False
        tries = _recent(ip_address=address).aggregate(tries=Sum("failures_since_start"))["tries"]
        return (tries or 0) >= settings.WRONG_TRIES_OF_AN_ADDRESS

    def reset_attempts(
        self, *, ip_address: str | None = None, username: str | None = None, ip_or_username: bool = False
    ) -> int:
        """Writes only where something was counted: on SQLite an empty delete waits for a writer's turn as well."""
        of = {"ip_address": ip_address, "username": username}
        counted = AccessAttempt.objects.filter(**{name: value for name, value in of.items() if value})
        if not (ip_or_username or counted.exists()):
            return 0
        return super().reset_attempts(ip_address=ip_address, username=username, ip_or_username=ip_or_username)


def locked_until(username: str) -> datetime | None:
    """When the last lock of this account ends, wherever it was tried from; None where there is none."""
    rows = _recent(username=digest_of(username), failures_since_start__gte=settings.AXES_FAILURE_LIMIT)
    last = rows.order_by("-attempt_time").first()
    return last.attempt_time + settings.AXES_COOLOFF_TIME if last else None


def try_again_at(username: str, address: str | None) -> datetime:
    """When somebody who is locked out at this address may try again."""
    rows = _recent(ip_address=address).order_by("-attempt_time")
    last = rows.filter(username=digest_of(username), failures_since_start__gte=settings.AXES_FAILURE_LIMIT).first()
    last = last or rows.first()
    return (last.attempt_time if last else timezone.now()) + settings.AXES_COOLOFF_TIME


class Backend(AxesStandaloneBackend):
    """Asks the count first. A command on the server, which has no request, is not counted."""

    def authenticate(self, request: HttpRequest | None, **credentials: Any) -> None:
        if request is not None:
            super().authenticate(request, **credentials)
