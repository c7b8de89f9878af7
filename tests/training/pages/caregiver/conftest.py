"""Accounts for the caregivers of one family."""

from __future__ import annotations

import pytest

from tests.factories import UserFactory
from training.people.models import Caregiver


@pytest.fixture
def north(cast):
    """The hospital, with an account for each caregiver of its first family."""
    for name in ("mother", "father"):
        caregiver = getattr(cast.north, name)
        Caregiver.objects.filter(pk=caregiver.pk).update(user=UserFactory(full_name=caregiver.full_name))
    return cast.north


@pytest.fixture
def mother(north, signed_in):
    return signed_in(north.mother.user)
