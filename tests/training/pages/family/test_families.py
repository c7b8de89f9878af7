"""The list of families, with the drafts that wait."""

from __future__ import annotations

import pytest

from tests.cast import NOW
from tests.factories import MemberFactory, OrganisationFactory
from tests.training.pages.family.conftest import of
from tests.training.pages.family.test_family_page import squeezed
from training.standing.models import Draft


def test_a_row_says_verdict_and_what_is_missing(story, read):
    text = squeezed(read(story.north.educator, "/families/"))

    assert "Okonjo-Lind Ilse Okonjo-Lind Not ready since 2 March 2026 Team, Emergency kit checked, Papers" in text


def test_a_row_says_what_lapses_next(story, read):
    assert "Next lapse: 5 Nov 2026 Suctioning · Marit" in squeezed(read(story.north.educator, "/families/"))


def test_an_empty_list_says_what_starts_it(db, now, read):
    member = MemberFactory(organisation=OrganisationFactory())
    text = read(member, "/families/")

    assert "No families yet. A family starts with its patient and a first care plan." in squeezed(text)


@pytest.mark.parametrize(("role", "offered"), [("educator", True), ("administrator", True), ("auditor", False)])
def test_a_new_family_is_offered_to_who_sets_up(cast, read, role, offered):
    assert ("New family" in read(getattr(cast.north, role), "/families/")) is offered


@pytest.fixture
def draft(cast):
    return Draft.objects.create(
        author=cast.north.educator,
        caregiver=cast.north.mother,
        data={"skill": "suction", "edition": 1},
        started_at=NOW,
        changed_at=NOW,
    )


def test_a_draft_stands_on_top(cast, read, draft):
    text = read(cast.north.educator, "/families/")

    assert "Not signed yet Suctioning Marit Okonjo-Lind, for Ilse, Okonjo-Lind family" in squeezed(text)
    assert "Kept 14 May 2026, 10:00, not signed yet." in squeezed(text)
    assert f"/drafts/{draft.public_id}/" in text


def test_a_draft_is_its_authors_alone(cast, read, draft):
    assert "Not signed yet" not in read(cast.north.supervisor, "/families/")


def test_the_list_asks_a_fixed_number_of_questions(cast, signed_in, django_assert_max_num_queries):
    client = signed_in(cast.north.educator)
    client.get("/families/")  # the programme's words are read once
    with django_assert_max_num_queries(16):  # appointments and their voids, and the log of reads, are two more
        client.get("/families/")


def test_a_family_leads_to_its_page(cast, read):
    assert f'href="{of(cast.north.family, "family")}"' in read(cast.north.educator, "/families/")
