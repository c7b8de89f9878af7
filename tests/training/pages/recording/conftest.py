"""A demonstration of the mother's, taken as far as a test asks."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from tests.cast import Cast, Home
from tests.factories import PASSWORD
from training.people.models import Caregiver
from training.standing.models import Draft


class Bedside:
    """An educator at work: each method is what one touch posts."""

    def __init__(self, client: Client, home: Home, caregiver: Caregiver) -> None:
        self.client = client
        self.home = home
        self.caregiver = caregiver

    def start_url(self, skill: str = "suction") -> str:
        family = self.caregiver.family.public_id
        return reverse("start", kwargs={"family": family, "caregiver": self.caregiver.public_id, "skill": skill})

    def start(self, skill: str = "suction", **changes: Any) -> Any:
        sent = {
            "intent": str(uuid.uuid4()),
            "purpose": "assessment",
            "setting": "patient",
            "role": "lead",
            "mode": "in_person",
            "place": "hospital",
            "on": "2026-05-14",
            "time": "09:30",
            "began": "",
            **changes,
        }
        return self.client.post(self.start_url(skill), {k: v for k, v in sent.items() if v is not None})

    @property
    def draft(self) -> Draft:
        return Draft.objects.get()

    def url(self, name: str = "draft", **more: Any) -> str:
        return reverse(name, kwargs={"draft": self.draft.public_id, **more})

    def step(self, place: int, result: str, **more: Any) -> Any:
        return self.client.post(self.url("draft-step", place=place), {"result": result, **more})

    def all_alone(self, skill: str = "suction", **changes: Any) -> None:
        """Start, and every step done alone: ready for the outcome."""
        self.start(skill, **changes)
        screens = {"suction": 2, "hands": 1, "tube_change": 2, "emergency": 1}[skill]
        for place in range(1, screens + 1):
            more = {"value": "8"} if (skill, place) == ("suction", 2) else {}
            self.step(place, "independent", **more)
        self.client.post(self.url("draft-rest"), {"all": "alone"})

    def name_second(self, who: Any) -> Any:
        observer = who if isinstance(who, str) else who.observer_id
        return self.client.post(self.url("draft-second"), {"observer": observer})

    def second_all_alone(self, who: Any, **changes: dict[str, str]) -> None:
        """Somebody else saw suctioning too, every step alone but for ``changes`` of a step that is asked by itself."""
        self.name_second(who)
        for place, alone in ((1, {"result": "independent"}), (2, {"result": "independent", "value": "8"})):
            sent = changes.get(f"step_{place}", alone)
            self.client.post(self.url("draft-second-step", place=place), sent)
        self.client.post(self.url("draft-second-rest"), {"all": "alone"})

    def shown(self) -> str:
        return self.client.get(self.url("draft-sign")).context["shown"]

    def sign(self, password: str = PASSWORD, shown: str | None = None) -> Any:
        return self.client.post(
            self.url("draft-sign"), {"password": password, "shown": self.shown() if shown is None else shown}
        )


@pytest.fixture
def bedside(cast: Cast, signed_in: Any) -> Bedside:
    user = cast.north.educator.user
    user.set_password(PASSWORD)  # by the quick hasher: the cast's own was made before it was set
    user.save()
    return Bedside(signed_in(cast.north.educator), cast.north, cast.north.mother)
