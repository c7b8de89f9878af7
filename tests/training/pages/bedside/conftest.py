"""A device's recording, as it is posted: suctioning with prompted hands, unless a test changes it."""

from __future__ import annotations

import copy
import uuid
from typing import Any

import pytest
from django.test import Client

from tests.cast import Cast
from training.people.models import Member

RESULTS = {
    "s01": "prompted",
    "s02": "independent",
    "s03": {"result": "independent", "value": "8.1"},
    "s04": "independent",
    "s06": "not_applicable",
}


class Device:
    """What one member's device sends."""

    def __init__(self, client: Client, cast: Cast) -> None:
        self.client = client
        self.cast = cast
        self.sent: dict[str, Any] = {
            "intent": str(uuid.uuid4()),
            "author": cast.north.educator.observer_id,
            "family": str(cast.north.family.public_id),
            "caregiver": cast.north.mother.case_id,
            "data": {
                "purpose": "assessment",
                "on": "2026-05-14",
                "time": "09:30:20",
                "skill": "suction",
                "edition": 1,
                "setting": "patient",
                "role": "lead",
                "mode": "in_person",
                "place": "hospital",
                "results": copy.deepcopy(RESULTS),
                "stopped": None,
            },
        }

    def change(self, path: str, value: Any) -> None:
        """Set what lies under a dotted path; Ellipsis takes it out."""
        *way, last = path.split(".")
        part = self.sent
        for name in way:
            part = part[name]
        if value is ...:
            del part[last]
        else:
            part[last] = value

    def post(self, sent: Any = None) -> Any:
        return self.client.post(
            "/bedside/arrive/", self.sent if sent is None else sent, content_type="application/json"
        )

    def codes(self) -> list[str]:
        return [r["code"] for r in self.post().json()["refused"]]


@pytest.fixture
def device(cast: Cast, signed_in: Any) -> Device:
    return Device(signed_in(cast.north.educator), cast)


@pytest.fixture
def person(cast: Cast) -> Any:
    """Somebody by the name a table gives them."""

    def find(name: str) -> Any:
        if name == "stranger":
            return cast.stranger
        found: Member = cast.south.educator if name == "elsewhere" else getattr(cast.north, name)
        return found.user

    return find
