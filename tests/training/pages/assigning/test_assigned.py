"""Where an organisation wants it, an educator sees only the families assigned to them."""

from __future__ import annotations

import uuid
from datetime import timedelta

import pytest
import time_machine
from django.urls import reverse

from tests.cast import NOW
from tests.factories import MemberFactory
from training.people.access import assign, open_in_emergency, unassign
from training.people.models import Assignment, Caregiver, Family, Member
from training.standing.models import Draft


@pytest.fixture
def assigned_only(cast):
    cast.north.organisation.assigned_only = True
    cast.north.organisation.save()
    return find(cast.north.educator)  # their organisation as it is now


def find(member: Member) -> Member:
    return Member.objects.select_related("organisation", "user").get(pk=member.pk)


@pytest.fixture
def newcomer(cast, assigned_only):
    """An educator who opened none of the families."""
    return find(MemberFactory(organisation=cast.north.organisation, role="educator"))


def names(member: Member) -> set[str]:
    return set(Family.objects.visible_to(member).values_list("name", flat=True))


BOTH = {"Okonjo-Lind", "Quist"}


# Who sees what ----------------------------------------------------------------------------------------------


def test_without_the_wish_every_educator_sees_every_family(cast):
    assert names(find(MemberFactory(organisation=cast.north.organisation, role="educator"))) == BOTH


def test_with_it_a_newcomer_sees_none(newcomer):
    assert names(newcomer) == set()


def test_who_opened_a_family_works_with_it(assigned_only):
    assert names(assigned_only) == BOTH


def test_an_assigned_one_is_seen_and_no_other(newcomer, cast):
    assign(member=newcomer, family=cast.north.family, at=NOW)
    assert names(newcomer) == {"Okonjo-Lind"}
    assert set(Caregiver.objects.visible_to(newcomer)) == set(cast.north.family.caregivers.all())


@pytest.mark.parametrize("role", ["supervisor", "administrator", "auditor"])
def test_the_others_see_every_family(assigned_only, cast, role):
    assert names(find(getattr(cast.north, role))) == BOTH


def test_an_assignment_elsewhere_opens_nothing(newcomer, cast):
    assign(member=newcomer, family=cast.south.family, at=NOW)
    assert names(newcomer) == set()


def test_the_wish_is_one_organisation_s_own(assigned_only, cast):
    assert len(names(find(MemberFactory(organisation=cast.south.organisation, role="educator")))) == 2


@pytest.mark.parametrize(("seconds", "there"), [(-1, False), (0, True), (1, True)])
def test_it_begins_at_its_moment(newcomer, cast, seconds, there):
    assign(member=newcomer, family=cast.north.family, at=NOW)
    with time_machine.travel(NOW + timedelta(seconds=seconds), tick=False):
        assert bool(names(newcomer)) is there


def test_it_ends_at_once(newcomer, cast):
    assign(member=newcomer, family=cast.north.family, at=NOW - timedelta(minutes=1))
    unassign(member=newcomer, family=cast.north.family, at=NOW)
    assert names(newcomer) == set()


def test_the_same_twice_is_one(newcomer, cast):
    first = assign(member=newcomer, family=cast.north.family, at=NOW)
    assert assign(member=newcomer, family=cast.north.family, at=NOW) == first


@pytest.mark.parametrize(("hours", "there"), [(0, True), (23.99, True), (24, False)])
def test_an_emergency_lasts_a_day(newcomer, cast, hours, there):
    open_in_emergency(member=newcomer, family=cast.north.family, reason="Called out.", at=NOW)
    with time_machine.travel(NOW + timedelta(hours=hours), tick=False):
        assert bool(names(newcomer)) is there


# Pages ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("page", ["family", "records", "packet", "bedside-pack", "care-plan-new", "who-works"])
def test_a_family_not_assigned_is_not_found(newcomer, cast, signed_in, page):
    assert signed_in(newcomer).get(reverse(page, args=[cast.north.family.public_id])).status_code == 404


def test_a_draft_is_closed_with_its_family(newcomer, cast, signed_in):
    mother, intent = cast.north.mother, uuid.uuid4()
    data = {"skill": "suction"}
    Draft.objects.create(
        public_id=intent, author=newcomer, caregiver=mother, intent=intent, data=data, started_at=NOW, changed_at=NOW
    )
    client = signed_in(newcomer)
    assert client.get(reverse("draft", args=[intent])).status_code == 404
    assert "suction" not in client.get(reverse("families")).content.decode().lower()


def post(client, family, **words):
    return client.post(reverse("who-works", args=[family.public_id]), words)


@pytest.mark.parametrize("role", ["supervisor", "administrator"])
def test_they_assign_and_end(newcomer, cast, signed_in, role):
    client = signed_in(getattr(cast.north, role))
    post(client, cast.north.family, member=newcomer.public_id)
    assert names(newcomer) == {"Okonjo-Lind"}
    post(client, cast.north.family, member=newcomer.public_id, end="yes")
    assert names(newcomer) == set()


@pytest.mark.parametrize(("role", "status"), [("educator", 403), ("auditor", 403)])
def test_nobody_else_does(newcomer, cast, signed_in, role, status):
    answer = post(signed_in(getattr(cast.north, role)), cast.north.family, member=newcomer.public_id)
    assert (answer.status_code, names(newcomer)) == (status, set())


@pytest.mark.parametrize("who", ["", "nobody", "6e0f6f2a-0000-4000-8000-000000000000"])
def test_whom_nobody_knows_is_not_found(assigned_only, cast, signed_in, who):
    assert post(signed_in(cast.north.supervisor), cast.north.family, member=who).status_code == 404


def test_another_organisation_s_member_is_not_found(assigned_only, cast, signed_in):
    answer = post(signed_in(cast.north.supervisor), cast.north.family, member=cast.south.educator.public_id)
    assert answer.status_code == 404
    assert not Assignment.objects.filter(member=cast.south.educator, family=cast.north.family).exists()


def test_another_organisation_s_family_is_not_found(newcomer, cast, signed_in):
    assert post(signed_in(cast.north.supervisor), cast.south.family, member=newcomer.public_id).status_code == 404


@pytest.mark.parametrize(("wish", "kept"), [("yes", True), ("no", False), ("", False)])
def test_an_administrator_says_who_sees_which(cast, signed_in, wish, kept):
    words = {"intent": str(uuid.uuid4()), "assigned_only": wish}
    signed_in(cast.north.administrator).post(reverse("who-sees"), words)
    cast.north.organisation.refresh_from_db()
    assert cast.north.organisation.assigned_only is kept


@pytest.mark.parametrize("role", ["educator", "supervisor", "auditor"])
def test_nobody_else_says_it(cast, signed_in, role):
    assert signed_in(getattr(cast.north, role)).get(reverse("who-sees")).status_code == 403


def test_it_says_how_many_families_have_nobody(cast, signed_in):
    page = signed_in(cast.north.administrator).get(reverse("who-sees")).content.decode()
    assert "no educator assigned: 0" in page
    unassign(member=cast.north.educator, family=cast.north.family, at=NOW)
    assert "no educator assigned: 1" in signed_in(cast.north.administrator).get(reverse("who-sees")).content.decode()


# An emergency -------------------------------------------------------------------------------------------------


def open_now(client, name, reason="Called out at night."):
    words = {"intent": str(uuid.uuid4()), "name": name, "reason": reason}
    return client.post(reverse("open-now"), words)


@pytest.mark.parametrize("name", ["Okonjo-Lind", "okonjo-lind ", "Ilse Okonjo-Lind"])
def test_a_family_is_opened_by_its_whole_name(newcomer, cast, signed_in, name):
    answer = open_now(signed_in(newcomer), name)
    assert answer.url == reverse("family", args=[cast.north.family.public_id])
    assert names(newcomer) == {"Okonjo-Lind"}


@pytest.mark.parametrize("name", ["Okonjo", "O", "", "Abara-Voss", "Noor Abara-Voss"])
def test_a_part_of_a_name_or_another_organisation_s_opens_nothing(newcomer, signed_in, name):
    assert open_now(signed_in(newcomer), name).status_code == 200
    assert not newcomer.assignments.exists()


def test_without_a_reason_nothing_is_opened(newcomer, signed_in):
    assert open_now(signed_in(newcomer), "Quist", reason=" ").status_code == 200
    assert names(newcomer) == set()


def test_two_families_of_one_name_are_not_opened(newcomer, cast, signed_in):
    Family.objects.filter(name="Quist").update(name="Okonjo-Lind")
    assert "More than one" in open_now(signed_in(newcomer), "Okonjo-Lind").content.decode()
    assert names(newcomer) == set()


def test_the_same_post_twice_opens_it_once(newcomer, signed_in):
    client = signed_in(newcomer)
    open_now(client, "Quist")
    open_now(client, "Quist")
    assert newcomer.assignments.count() == 1


def test_a_supervisor_reads_who_opened_it_and_why(newcomer, cast, signed_in):
    open_now(signed_in(newcomer), "Okonjo-Lind")
    page = signed_in(cast.north.supervisor).get(reverse("who-works", args=[cast.north.family.public_id]))
    assert "Called out at night." in page.content.decode()
    assert newcomer.user.full_name in page.content.decode()


def test_it_is_ended_like_any_other(newcomer, cast, signed_in):
    open_now(signed_in(newcomer), "Okonjo-Lind")
    post(signed_in(cast.north.supervisor), cast.north.family, member=newcomer.public_id, end="yes")
    assert names(newcomer) == set()


@pytest.mark.parametrize("role", ["supervisor", "auditor"])
def test_who_sees_every_family_has_no_such_page(assigned_only, cast, signed_in, role):
    assert signed_in(getattr(cast.north, role)).get(reverse("open-now")).status_code == 404


def test_without_the_wish_there_is_no_such_page(cast, signed_in):
    assert signed_in(cast.north.educator).get(reverse("open-now")).status_code == 404
