"""Passkeys: a phone or a key stands in for the code at signing in. allauth's functions, behind our own pages."""

from __future__ import annotations

import json
from typing import Any

from allauth.mfa.adapter import DefaultMFAAdapter
from allauth.mfa.models import Authenticator
from allauth.mfa.webauthn.internal import auth
from django.forms import ValidationError

from training.pages.entry.second_factor import PASSKEY
from training.people.models import User

MOST = 10


class Adapter(DefaultMFAAdapter):
    """What allauth asks the site. The person's name stays out of the key: it may lie about."""

    def get_public_key_credential_user_entity(self, user: User) -> dict[str, Any]:
        return {**super().get_public_key_credential_user_entity(user), "display_name": user.username}

    def _get_site_name(self) -> str:
        return "Caregiver register"


def passkeys_of(user: User) -> list[Authenticator]:
    return list(Authenticator.objects.filter(user=user.pk, type=PASSKEY).order_by("created_at", "pk"))


def offer(user: User) -> str:
    """What the browser needs to make a new key, as JSON. What it answers must fit what was offered last."""
    return json.dumps(auth.begin_registration(user, passwordless=False))


def add(user: User, *, name: str, answer: str) -> bool:
    """Keep the key that the browser made; False where its answer does not fit what was offered."""
    try:
        credential = json.loads(answer)
        auth.parse_registration_response(credential)
        auth.complete_registration(credential)
    except (ValueError, TypeError, KeyError, AttributeError, ValidationError):
        return False
    auth.WebAuthn.add(user, name, credential)
    return True


def ask(user: User) -> str:
    """What the browser needs to use one of this person's keys, as JSON; empty where there is none."""
    return json.dumps(auth.begin_authentication(user)) if passkeys_of(user) else ""


def fits(user: User, answer: str) -> bool:
    """Whether the browser's answer was made by one of this person's keys for what was asked last."""
    try:
        credential = json.loads(answer)
        auth.parse_authentication_response(credential)
        used = auth.complete_authentication(user, credential)
    except (ValueError, TypeError, KeyError, AttributeError, ValidationError):
        return False
    used.record_usage()
    return True
