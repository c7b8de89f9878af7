"""Inviting a caregiver from the family's page: the paper, who may, what is listed, and an account taken away."""

from __future__ import annotations

import re
import uuid

import pytest
from django.test import Client
from django.urls import reverse

from tests.cast import NOW
from tests.factories import PASSWORD, UserFactory
from tests.training.pages.setup.acts import errors, of, said
from training.invitations import deeds
from training.invitations.models import Invitation, RemovedAccount
from training.people.models import Caregiver

PAGES = ["caregiver-access", "caregiver-detach"]
POSTS = ["caregiver-invite", "caregiver-invite-withdraw", "caregiver-detach"]


@pytest.fixture
def educator(cast, signed_in):
    return signed_in(cast.north.educator)


def to(home, page, caregiver=None):
    return of(home.family, page, caregiver=(caregiver or home.mother).public_id)


def invite(client, home, intent=None):
    return client.post(to(home, "caregiver-invite"), {"intent": intent or str(uuid.uuid4())})


def code_in(answer):
    return re.search(r'class="i-code"[^>]*>([^<]+)<', answer.content.decode()).group(1)


def give_account(home, **fields):
    user = UserFactory(**fields)
    Caregiver.objects.filter(pk=home.mother.pk).update(user=user)
    return user


def test_the_family_s_page_offers_it_beside_the_caregiver(cast, educator):
    page = educator.get(of(cast.north.family, "family")).content.decode()

    assert f'href="{to(cast.north, "caregiver-access")}"' in page
    assert 'Invite<span class="r-unseen"> Marit</span>' in page


def test_the_paper_holds_a_code_that_works_and_a_picture(cast, educator):
    answer = invite(educator, cast.north)
    page = answer.content.decode()

    assert deeds.look_up(code_in(answer), address="x", now=Invitation.objects.get().made_at)
    assert "<svg" in page
    assert "style=" not in page.split("<main", 1)[1]


def test_the_picture_leads_to_the_page_with_the_code_behind_a_hash(cast, educator, monkeypatch):
    from training.pages.setup import access

    drawn = []
    monkeypatch.setattr(access, "picture_of", lambda address: drawn.append(address) or "")
    answer = invite(educator, cast.north)

    assert drawn == [f"http://testserver{reverse('join')}#{code_in(answer)}"]


def test_the_paper_names_nobody_but_by_a_letter(cast, educator):
    page = invite(educator, cast.north).content.decode()
    paper = page[page.index('class="i-sheet"') : page.index('class="r-acts r-screen-only"')]

    assert "begins with <b>M</b>" in paper
    assert [name for name in ("Marit", "Okonjo", "Ilse", "1990") if name in paper] == []


def test_a_reload_shows_no_second_code(cast, educator):
    intent = str(uuid.uuid4())
    invite(educator, cast.north, intent)
    again = invite(educator, cast.north, intent)

    assert again.status_code == 302
    assert "shown already" in said(again)
    assert Invitation.objects.count() == 1


def test_a_post_without_an_intent_makes_nothing(cast, educator):
    assert educator.post(to(cast.north, "caregiver-invite")).status_code == 400
    assert not Invitation.objects.exists()


def test_it_is_listed_with_who_made_it_and_what_became_of_it(cast, educator):
    invite(educator, cast.north)
    invite(educator, cast.north)
    page = educator.get(to(cast.north, "caregiver-access"))
    name = cast.north.educator.signed_name

    assert page.context["open"] is not None
    assert page.context["past"][0]["became"] == f"withdrawn on 14 May 2026 by {name}"
    assert f"made by {name}" in page.content.decode()


def test_it_is_withdrawn(cast, educator):
    code = code_in(invite(educator, cast.north))
    educator.post(to(cast.north, "caregiver-invite-withdraw"))

    assert not Invitation.objects.unanswered().exists()
    with pytest.raises(deeds.NoSuchCodeError):
        deeds.look_up(code, address="x", now=Invitation.objects.get().made_at)


def test_nobody_with_an_account_is_invited(cast, educator):
    give_account(cast.north)

    assert "No code was made" in said(invite(educator, cast.north))
    assert not Invitation.objects.exists()


def test_an_account_is_removed_with_a_reason_and_is_out_at_once(cast, educator):
    user = give_account(cast.north, username="wrong.one")
    theirs = Client()
    theirs.force_login(user)
    before = theirs.get(reverse("mine"), follow=True).status_code
    educator.post(to(cast.north, "caregiver-detach"), {"intent": str(uuid.uuid4()), "password": PASSWORD,
                                                       "reason": "The neighbour joined."})  # fmt: skip

    assert (before, theirs.get(reverse("mine-family", args=[cast.north.mother.public_id])).status_code) == (200, 404)
    assert "The neighbour joined." in educator.get(to(cast.north, "caregiver-access")).content.decode()


@pytest.mark.parametrize("wrong", [{"password": "wrong"}, {"reason": ""}])
def test_an_account_is_not_removed_without_password_and_reason(cast, educator, wrong):
    give_account(cast.north)
    fields = {"intent": str(uuid.uuid4()), "password": PASSWORD, "reason": "x", **wrong}
    answer = educator.post(to(cast.north, "caregiver-detach"), fields)

    assert list(errors(answer)) == list(wrong)
    assert cast.north.mother.user is not None
    assert not RemovedAccount.objects.exists()


# Who may


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize(
    ("role", "status"), [("educator", 200), ("supervisor", 200), ("administrator", 200), ("auditor", 403)]
)
def test_a_colleague_is_let_in_by_role(cast, signed_in, page, role, status):
    give_account(cast.north)

    assert signed_in(getattr(cast.north, role)).get(to(cast.north, page)).status_code == status


@pytest.mark.parametrize("page", POSTS)
@pytest.mark.parametrize(("who", "status"), [("auditor", 403), ("foreign", 404), ("mother", 404), ("visitor", 302)])
def test_nobody_else_changes_anything(cast, client, page, who, status):
    invited = deeds.invite(caregiver=cast.north.father, by=cast.north.educator, intent=uuid.uuid4(), now=NOW)[0]
    mother = give_account(cast.north)
    users = {"auditor": cast.north.auditor.user, "foreign": cast.south.supervisor.user, "mother": mother}
    if who in users:
        client.force_login(users[who])
    fields = {"intent": str(uuid.uuid4()), "password": PASSWORD, "reason": "x"}
    answer = client.post(to(cast.north, page, cast.north.father), fields)

    assert answer.status_code == status
    assert list(Invitation.objects.unanswered()) == [invited]


def test_a_caregiver_of_another_family_is_not_found_under_this_one(cast, educator):
    stranger = cast.north.families[1].caregivers.first()

    assert educator.get(to(cast.north, "caregiver-access", stranger)).status_code == 404
