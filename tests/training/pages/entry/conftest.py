"""People who sign in: each with the same password, and some with a second factor."""

from __future__ import annotations

import time
from typing import Any

import pytest
from allauth.mfa.totp.internal.auth import format_hotp_value, hotp_value
from django.test import Client
from django.urls import reverse

from tests.factories import PASSWORD
from training.pages.entry import second_factor
from training.people.models import User

SECRET = "GEZDGNBVGY3TQOJQGEZDGNBVGY3TQOJQ"  # of RFC 6238, appendix B


def code_at(seconds: float | None = None, secret: str = SECRET) -> str:
    return format_hotp_value(hotp_value(secret, int(time.time() if seconds is None else seconds) // 30))


def next_code() -> str:
    return code_at(time.time() + 30)


def enrol(user: User) -> list[str]:
    """Turn the second factor on with the code of half a minute ago, so that the one of now is unused."""
    codes = second_factor.turn_on(user, secret=SECRET, code=code_at(time.time() - 30))
    assert codes is not None
    return codes


def sign_in(client: Client, username: str, password: str = PASSWORD, **more: Any) -> Any:
    return client.post(reverse("sign-in"), {"username": username, "password": password}, **more)


def is_signed_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


@pytest.fixture
def nurse(cast: Any) -> User:
    """The hospital's educator, with a password of the quick hasher."""
    return with_password(cast.north.educator.user)


def with_password(user: User) -> User:
    user.set_password(PASSWORD)
    user.save(update_fields=["password"])
    return user
