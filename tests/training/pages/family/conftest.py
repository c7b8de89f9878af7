"""A family with a history worth looking at."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.urls import reverse

from tests.cast import ALL_ALONE, TODAY, Cast, at, show, sign_off_suction
from training.people.models import Family, Member
from training.records.models import Record
from training.standing import deeds


def put(who: Any, family: Family, kind: str, day: date, **body: Any) -> Record:
    """Sign a record at noon of a day; unlike the cast's own, ``by`` may be a key of the body."""
    body = {key.rstrip("_"): value for key, value in body.items()}
    return deeds.record(family=family, kind=kind, body=body, by=who, intent=uuid.uuid4(), at=at(day))


def of(family: Family, name: str, **more: Any) -> str:
    return reverse(name, kwargs={"family": family.public_id, **more})


@pytest.fixture
def read(signed_in: Callable[..., Any]) -> Callable[..., str]:
    """The text of a page as a member sees it."""

    def get(who: Member, address: str) -> str:
        answer = signed_in(who).get(address)
        assert answer.status_code == 200
        return answer.content.decode()

    return get


@pytest.fixture
def story(cast: Cast) -> SimpleNamespace:
    """Marit is signed off in suction; Joram had a critical attempt and one that was voided; the papers are excepted."""
    north = cast.north
    sign_off_suction(north, north.mother)
    trouble = show(
        north,
        north.father,
        "suction",
        TODAY - timedelta(days=3),
        results={**ALL_ALONE["suction"], "s03": {"result": "independent", "value": 14}},
        reteach={"line": "Count aloud.", "on": "2026-05-11"},
    )
    wrong = show(north, north.father, "hands", TODAY - timedelta(days=2))
    void = put(
        north.supervisor,
        north.family,
        "void",
        TODAY - timedelta(days=1),
        record=str(wrong.intent),
        reason="Wrong person",
    )
    exception = put(
        north.supervisor,
        north.family,
        "exception",
        TODAY,
        missing="item:papers",
        from_=TODAY.isoformat(),
        through=(TODAY + timedelta(days=5)).isoformat(),
        reason="Sent by post",
        by=north.supervisor.observer_id,
    )
    return SimpleNamespace(cast=cast, north=north, trouble=trouble, wrong=wrong, void=void, exception=exception)
