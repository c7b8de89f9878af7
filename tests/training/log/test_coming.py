"""Sign-ins, failed ones, sign-outs and locks."""

from __future__ import annotations

import pytest
from django.db import DatabaseError
from django.urls import reverse

from tests.factories import PASSWORD, MemberFactory, UserFactory
from training.log import coming
from training.log.models import Entry


@pytest.fixture
def access():
    before = Entry.objects.order_by("-pk").values_list("pk", flat=True).first() or 0

    def found():
        return [(e.what, e.who_name) for e in Entry.objects.filter(kind="access", pk__gt=before).order_by("pk")]

    return found


def sign_in(client, username, password=PASSWORD):
    return client.post(reverse("sign-in"), {"username": username, "password": password})


@pytest.fixture
def educator(cast):
    cast.north.educator.user.set_password(PASSWORD)
    cast.north.educator.user.save()
    return cast.north.educator


def test_in_and_out(client, educator, access):
    sign_in(client, educator.user.username)
    client.post(reverse("sign-out"))

    assert access() == [("signed-in", educator.signed_name), ("signed-out", educator.signed_name)]


def test_a_failed_sign_in_is_told_under_the_name_that_is_there(client, educator, access):
    sign_in(client, educator.user.username.upper(), "wrong")

    assert access() == [("sign-in-failed", educator.signed_name)]


@pytest.mark.parametrize("typed", ["nobody", "my password by mistake", ""])
def test_what_is_no_account_is_not_kept(client, educator, access, typed):
    sign_in(client, typed, "wrong")

    assert access() == []


def test_it_is_told_in_each_place(cast, client, educator):
    MemberFactory(organisation=cast.south.organisation, user=educator.user, role="auditor")
    sign_in(client, educator.user.username)
    places = {(e.organisation, e.who_role) for e in Entry.objects.filter(what="signed-in", who_name__contains="Number")}

    assert places == {(cast.north.organisation, "educator"), (cast.south.organisation, "auditor")}


def test_a_caregivers_sign_in_is_told_once_in_an_organisation(cast, client, access):
    user = UserFactory(username="both", full_name="Marit")
    for family in cast.north.families:
        family.caregivers.filter(relation="mother").update(user=user)
    sign_in(client, "both")

    assert access() == [("signed-in", "Marit Okonjo-Lind")]


def test_a_lock_is_told(educator, access):
    coming._locked(None, username=educator.user.username)

    assert access() == [("locked-out", educator.signed_name)]


def test_a_log_that_cannot_be_written_keeps_nobody_out(client, educator, monkeypatch, caplog):
    def refuse(*args, **kwargs):
        raise DatabaseError("full")

    monkeypatch.setattr(coming, "write", refuse)

    assert sign_in(client, educator.user.username).status_code == 302
    assert educator.user.username not in caplog.text
