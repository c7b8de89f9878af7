"""Documents as they leave the site: fetched from their addresses by an educator."""

from __future__ import annotations

import re
from collections.abc import Callable
from io import BytesIO
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from training.people.models import Caregiver, Family, Member

NUMBER = re.compile(r"Document ([0-9A-Z]{4}-[0-9A-Z]{4}-[0-9A-Z]{4})")


def packet_of(family: Family, query: str = "") -> str:
    return reverse("packet", kwargs={"family": family.public_id}) + query


def checklist_of(caregiver: Caregiver, query: str = "") -> str:
    whole = {"family": caregiver.family.public_id, "caregiver": caregiver.public_id, "skill": "suction"}
    return reverse("blank-checklist", kwargs=whole) + query


def number_in(data: bytes) -> str:
    """The number as its properties have it; it stands at the foot of each page too."""
    found = NUMBER.search(PdfReader(BytesIO(data)).metadata.subject)
    assert found is not None
    return found[1]


@pytest.fixture
def fetch() -> Callable[[Member, str], bytes]:
    def get(who: Member, address: str) -> bytes:
        client = Client()
        client.force_login(who.user)
        answer: Any = client.get(address)
        assert answer.status_code == 200
        return b"".join(answer.streaming_content)

    return get


@pytest.fixture
def read_pdf() -> Callable[[bytes], PdfReader]:
    return lambda data: PdfReader(BytesIO(data))
