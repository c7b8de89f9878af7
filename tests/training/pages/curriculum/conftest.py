"""Drafts at hand, and a way to post to them."""

from __future__ import annotations

import pytest
from django.urls import reverse

from tests.cast import NOW
from training.curriculum import drafting, stating


@pytest.fixture
def north(cast):
    return cast.north


@pytest.fixture
def draft(north):
    """A draft of suctioning, begun from edition 1."""
    return drafting.begin_edition(north.programme, "suction", by=north.educator, at=NOW)


@pytest.fixture
def rules(north):
    return drafting.begin_rules(north.programme, by=north.educator, at=NOW)


@pytest.fixture
def facts(north):
    """The draft of the facts, notice and checks."""
    return stating.begin_facts(north.programme, by=north.educator, at=NOW)


@pytest.fixture
def page(north):
    """An address of this room, by name; the programme's own and, unless said otherwise, of suctioning."""

    def at(name, *more, programme=north.programme):
        return reverse(name, args=[programme.public_id, *more])

    return at


@pytest.fixture
def educator(north, signed_in):
    return signed_in(north.educator)
