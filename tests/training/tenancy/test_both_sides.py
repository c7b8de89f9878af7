"""What crosses between organisations on purpose: an offer, a code, an invitation, a log entry; and no more than that."""

from __future__ import annotations

import uuid
from contextlib import suppress

import pytest
from django.test import Client

from tests.cast import NOW
from tests.training.tenancy.conftest import make_offer
from tests.training.tenancy.site_role import as_site_role, on_postgres
from tests.training.tenancy.test_policies import refused
from training.handover.codes import code_of, organisation_with
from training.handover.models import HandoverCode, Offer
from training.invitations.codes import digest_of
from training.invitations.deeds import invite
from training.log.coming import came_or_went
from training.log.models import Entry
from training.log.writing import deed, who
from training.pages.entry.closing import has_another_place
from training.people.models import Family, Member
from training.tenancy import scope
from training.tenancy.scope import scoped

pytestmark = on_postgres


@pytest.fixture
def offer(cast):
    return make_offer(cast.north, cast.south.organisation)


def of(home):
    return {"account": home.supervisor.user_id, "organisation": home.organisation.pk}


@pytest.mark.parametrize("side", ["north", "south"])
def test_both_sides_see_the_offer(cast, offer, side):
    with as_site_role(), scoped(**of(getattr(cast, side))):
        assert Offer.objects.get().pk == offer.pk


def test_the_side_it_is_made_to_does_not_see_the_family(cast, offer):
    with as_site_role(), scoped(**of(cast.south)):
        assert not Family.objects.filter(pk=offer.family_id).exists()
        assert Offer.objects.get().today(NOW) == offer.family.today(NOW)


def test_nobody_offers_another_s_family(cast):
    with as_site_role(), scoped(**of(cast.south)), refused():
        make_offer(cast.north, cast.south.organisation)


def test_nor_in_their_own_name(cast):
    cast.south.families, cast.north.families = cast.north.families, cast.south.families
    with as_site_role(), scoped(**of(cast.south)), refused():
        make_offer(cast.south, cast.north.organisation)


def test_a_third_one_sees_no_offer(cast, offer):
    with as_site_role(), scoped(organisation=10**9):
        assert not Offer.objects.exists()


# A code ---------------------------------------------------------------------------------------------------


def test_a_code_names_its_organisation_to_another(cast):
    code = code_of(cast.south.organisation, NOW).code
    with as_site_role(), scoped(**of(cast.north)):
        assert organisation_with(code) == cast.south.organisation
        assert not HandoverCode.objects.filter(code=code).exists()
        assert organisation_with("ABCDEFGHJKMN") is None
        assert scope.current().organisation == cast.north.organisation.pk


def test_an_invitation_s_code_names_its_organisation_to_a_visitor(cast):
    made, code = invite(caregiver=cast.north.mother, by=cast.north.educator, intent=uuid.uuid4(), now=NOW)
    with as_site_role(), scoped():
        assert scope.inviting(digest_of(code)) == cast.north.organisation.pk
        assert scope.inviting(str(made.public_id)) == cast.north.organisation.pk
        assert scope.inviting(digest_of("AAAA-BBBB-CCCC")) is None
        assert scope.inviting("%") is None


# The log --------------------------------------------------------------------------------------------------


def test_staff_write_in_no_other_log(cast):
    north, south = cast.north, cast.south
    with as_site_role(), scoped(**of(north)), refused():
        deed(organisation=south.organisation, what="x", by=who(north.educator), at=NOW)


def test_a_failed_sign_in_is_logged_in_each_place(cast):
    """Nobody is signed in then, and nothing is seen."""
    user = cast.north.educator.user
    Member.objects.create(organisation=cast.south.organisation, user=user, role="educator", from_day=NOW.date())
    with as_site_role(), scoped():
        came_or_went(user, "sign-in-failed")
        assert not Entry.objects.exists()
    found = Entry.objects.filter(what="sign-in-failed").values_list("organisation", flat=True)
    assert sorted(found) == sorted([cast.north.organisation.pk, cast.south.organisation.pk])


# Another place --------------------------------------------------------------------------------------------


def test_an_account_with_a_place_elsewhere_is_known_to_have_one(cast):
    """Otherwise an administrator could give a link into another organisation's files."""
    user = cast.north.educator.user
    Member.objects.create(organisation=cast.south.organisation, user=user, role="educator", from_day=NOW.date())
    with as_site_role(), scoped(account=cast.north.administrator.user_id, organisation=cast.north.organisation.pk):
        assert has_another_place(cast.north.educator, NOW)
        assert not has_another_place(cast.north.supervisor, NOW)


# Inside ---------------------------------------------------------------------------------------------------


def test_inside_ends_with_its_block_even_by_an_error(cast):
    with as_site_role(), scoped(**of(cast.north)):
        with suppress(ZeroDivisionError), scope.inside(cast.south.organisation.pk):
            assert set(Family.objects.values_list("organisation", flat=True)) == {cast.south.organisation.pk}
            raise ZeroDivisionError
        assert set(Family.objects.values_list("organisation", flat=True)) == {cast.north.organisation.pk}


def test_a_visitor_with_a_wrong_code_learns_nothing(cast):
    with as_site_role():
        answer = Client().post("/join/", {"code": "AAAA-BBBB-CCCC"})
    assert "does not work" in answer.content.decode()
