"""Who asks, and one request of theirs that leaves nothing behind."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.db import transaction
from django.test import Client

from tests.access.world import World

AT_HOME = ("educator", "supervisor", "administrator", "auditor")
ELSEWHERE = tuple(f"{role} elsewhere" for role in AT_HOME)
CAREGIVERS = ("mother", "father", "other")  # of the family, the second of the same family, of another family
OUTSIDE = ("visitor", "stranger", "closed", "ended")
ACTORS = (*AT_HOME, *ELSEWHERE, *CAREGIVERS, "caregiver elsewhere", "gone", *OUTSIDE)


def user_of(world: World, actor: str) -> Any:
    """The account of an actor; None for a visitor."""
    if actor == "visitor":
        return None
    if actor == "stranger":
        return world.cast.stranger
    if actor in ELSEWHERE:
        return world.south.accounts[actor.split()[0]]
    if actor == "caregiver elsewhere":
        return world.south.accounts["mother"]
    return world.north.accounts[actor]


def before_taking_back() -> None:
    """Here a test looks at what a request has left, by putting its own in the place of this."""


class Asker:
    """One actor's client. Each request is taken back, so that all start from the same."""

    def __init__(self, world: World, actor: str) -> None:
        self.client = Client(raise_request_exception=False)
        user = user_of(world, actor)
        self.key = ""
        if user is not None:
            self.client.force_login(user)
            self.key = self.client.cookies[settings.SESSION_COOKIE_NAME].value

    def ask(self, method: str, address: str, *args: Any, **sent: Any) -> Any:
        self.client.cookies.clear()
        if self.key:
            self.client.cookies[settings.SESSION_COOKIE_NAME] = self.key
        with transaction.atomic():
            answer = getattr(self.client, method.lower())(address, *args, **sent)
            body_of(answer)  # what is sent in pieces is read while the world still stands
            before_taking_back()
            transaction.set_rollback(True)
        return answer


def body_of(answer: Any) -> bytes:
    """What was answered, whole."""
    if answer.streaming:
        whole = b"".join(answer.streaming_content)
        answer.streaming_content = [whole]
        return whole
    return bytes(answer.content)
