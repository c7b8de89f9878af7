"""An offer as the hospital's supervisor makes it, and the agency's file that comes of it."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest

from tests.cast import NOW, TODAY
from training.handover import codes, deeds
from training.handover.models import Offer
from training.handover.summary import summary_of
from training.people.models import Family
from training.standing.file import open_file
from training.standing.questions import FamilyOn


@pytest.fixture
def north(cast: Any) -> Any:
    return cast.north


@pytest.fixture
def south(cast: Any) -> Any:
    return cast.south


@pytest.fixture
def code(south: Any) -> str:
    return codes.grouped(codes.code_of(south.organisation, NOW).code)


@pytest.fixture
def offer(north: Any, south: Any) -> Callable[..., Offer]:
    def make(at: Any = NOW) -> Offer:
        return deeds.offer_family(
            family=north.family,
            to=south.organisation,
            reason="Going home near you",
            home_on=TODAY + timedelta(days=7),
            note="Nights first",
            shown=summary_of(FamilyOn(open_file(north.family), TODAY)),
            by=north.supervisor,
            intent=uuid.uuid4(),
            at=at,
        )

    return make


@pytest.fixture
def taken(offer: Callable[..., Offer], south: Any) -> Callable[[], Family]:
    def take() -> Family:
        return deeds.accept(offer=offer(), programme=south.programme, by=south.supervisor, at=NOW)

    return take
