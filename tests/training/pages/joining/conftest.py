"""A code for the first mother of the hospital."""

from __future__ import annotations

import uuid

import pytest

from tests.cast import NOW
from training.invitations import deeds


@pytest.fixture
def code(cast):
    return deeds.invite(caregiver=cast.north.mother, by=cast.north.educator, intent=uuid.uuid4(), now=NOW)[1]
