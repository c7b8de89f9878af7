"""Every model on the log's list of deeds: what changes it by a page or a command leaves its entry, in the same breath."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterator
from datetime import timedelta
from io import StringIO
from typing import Any

import pytest
from django.core.management import call_command
from django.db import DatabaseError, connection
from django.test import Client
from django.urls import reverse

from tests.cast import NOW, TODAY, Cast, show
from tests.factories import PASSWORD, MemberFactory, UserFactory
from tests.training.pages.entry.conftest import code_at, enrol, with_password
from training.handover import deeds as handing
from training.invitations import deeds as inviting
from training.log.models import Entry
from training.pages.log.words import sentence
from training.people.models import Member, User
from training.standing import deeds
from training.standing.publishing import copy_programme
from training.tenancy.models_listed import LOGGED


def browser(who: Member | User) -> Client:
    client = Client()
    client.force_login(with_password(who.user if isinstance(who, Member) else who))
    return client


def post(who: Member | User, name: str, /, *args: Any, **fields: Any) -> Any:
    fields = {"password": PASSWORD, "intent": str(uuid.uuid4()), **fields}
    return browser(who).post(reverse(name, args=args), fields)


def caregiver_s(cast: Cast) -> tuple[Any, Any]:
    mother = cast.north.mother
    return mother.family.public_id, mother.public_id


def invite(cast: Cast) -> str:
    mother, by = cast.north.mother, cast.north.educator
    return inviting.invite(caregiver=mother, by=by, intent=uuid.uuid4(), now=NOW)[1]


def join(cast: Cast) -> None:
    client, code = Client(), invite(cast)
    client.post(reverse("join"), {"code": code})
    client.post(reverse("join-you"), {"name": "Marit", "born": "1990-05-01"})
    fields = {"username": "marit", "password": "seven brown bears", "password_again": "seven brown bears"}
    client.post(reverse("join-new"), fields)


def remove(cast: Cast) -> None:
    cast.north.mother.__class__.objects.filter(pk=cast.north.mother.pk).update(user=UserFactory())
    post(cast.north.educator, "caregiver-detach", *caregiver_s(cast), reason="x")


def account(what: str) -> Callable[[Cast], Any]:
    def do(cast: Cast) -> None:
        if what == "second_factor":
            enrol(cast.north.educator.user)
        if what == "reopened":
            User.objects.filter(pk=cast.north.educator.user_id).update(is_active=False)
        fields = {"what": what, "because": "x"}
        post(cast.north.administrator, "member-account", cast.north.educator.public_id, **fields)

    return do


def with_factor(name: str) -> Callable[[Cast], Any]:
    def do(cast: Cast) -> None:
        enrol(cast.north.educator.user)
        post(cast.north.educator, name, second_factor=code_at())

    return do


def turn_on(cast: Cast) -> None:
    client = browser(cast.north.educator)
    client.get(reverse("second-factor"))
    secret = client.session["new_second_factor"]
    client.post(reverse("second-factor"), {"one_time_code": code_at(secret=secret), "password": PASSWORD})


def assigning(**more: str) -> Callable[[Cast], Any]:
    def do(cast: Cast) -> None:
        other = MemberFactory(organisation=cast.north.organisation, role="educator")
        if more:
            cast.north.family.assignments.create(member=other, since=NOW - timedelta(days=1))
        address = cast.north.family.public_id
        post(cast.north.supervisor, "who-works", address, member=str(other.public_id), **more)

    return do


def emergency(cast: Cast) -> None:
    cast.north.organisation.assigned_only = True
    cast.north.organisation.save()
    newcomer = MemberFactory(organisation=cast.north.organisation, role="educator")
    post(newcomer, "open-now", name="Okonjo-Lind", reason="x")


def add_member(cast: Cast) -> None:
    fields = {"full_name": "New Nurse", "username": "new.nurse", "role": "educator", "from_day": TODAY.isoformat()}
    words = {"password1": "seven brown bears", "password2": "seven brown bears"}
    post(cast.north.administrator, "member-new", **fields, **words)


def open_family(cast: Cast) -> None:
    deeds.open_family(
        programme=cast.north.programme, name="Newly", patient_name="Ada Newly", patient_called="Ada", patient_born=None,
        time_zone="Europe/Oslo", by=cast.north.educator, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip


def add_caregiver(cast: Cast) -> None:
    deeds.write_caregiver(
        family=cast.north.family, full_name="Aunt X", called="Aunt", relation="aunt", born=None, is_patient=False,
        from_day=None, through=None, sets=[], by=cast.north.educator, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip


def offer(cast: Cast) -> None:
    handing.offer_family(
        family=cast.north.family, to=cast.south.organisation, reason="x", home_on=None, note="", shown={},
        by=cast.north.supervisor, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip


def publish(cast: Cast) -> None:
    copy_programme(
        programme=cast.north.programme, code="copy", title="Copy", first_day=TODAY + timedelta(days=3),
        by=cast.north.educator, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip


# Each: the model that is changed, what the log calls it, and how it is done.
DONE: list[tuple[str, str, Callable[[Cast], Any]]] = [
    ("people.Organisation", "educators-see-assigned", lambda c: post(c.north.administrator, "who-sees", assigned_only="yes")),
    ("people.Organisation", "second-factor-required", lambda c: post(c.north.administrator, "second-factor-required", required="on")),
    ("people.Member", "member-added", add_member),
    ("people.Family", "family", open_family),
    ("people.Caregiver", "caregiver", add_caregiver),
    ("people.Caregiver", "account-removed", remove),
    ("people.Assignment", "assigned", assigning()),
    ("people.Assignment", "unassigned", assigning(end="yes")),
    ("people.Assignment", "opened-in-emergency", emergency),
    ("people.AccountEntry", "account-reset", account("reset")),
    ("people.User", "account-closed", account("closed")),
    ("people.User", "account-reopened", account("reopened")),
    ("people.User", "signed-out-everywhere", lambda c: post(c.north.educator, "sign-out-everywhere")),
    ("people.User", "password-changed", lambda c: post(
        c.north.educator, "account-password", new_password="seven brown bears", new_password_again="seven brown bears")),
    ("people.User", "reset-link", lambda c: call_command("reset_link", c.north.educator.user.username, stdout=StringIO())),
    ("mfa.Authenticator", "second-factor-on", turn_on),
    ("mfa.Authenticator", "second-factor-off", with_factor("second-factor-off")),
    ("mfa.Authenticator", "recovery-codes-new", with_factor("recovery-codes")),
    ("mfa.Authenticator", "account-second_factor", account("second_factor")),
    ("invitations.Invitation", "invitation-made", lambda c: post(c.north.educator, "caregiver-invite", *caregiver_s(c))),
    ("invitations.Invitation", "invitation-withdrawn", lambda c: (
        invite(c), post(c.north.educator, "caregiver-invite-withdraw", *caregiver_s(c)))),
    ("invitations.Invitation", "invitation-used", join),
    ("invitations.RemovedAccount", "account-removed", remove),
    ("handover.HandoverCode", "handover-code-changed", lambda c: post(c.north.supervisor, "handover-code")),
    ("handover.Offer", "offer", offer),
    ("curriculum.Programme", "programme", publish),
    ("records.Record", "demonstration", lambda c: show(c.north, c.north.mother, "hands", TODAY)),
]  # fmt: skip
IDS = [f"{model} {what}" for model, what, _do in DONE]


def entries(cast: Cast) -> Iterator[Entry]:
    return Entry.objects.filter(organisation=cast.north.organisation).order_by("pk")


@pytest.fixture(autouse=True)
def _quick_accounts(cast):
    """Passwords are set before anything is counted."""
    for member in (cast.north.educator, cast.north.supervisor, cast.north.administrator):
        with_password(member.user)


@pytest.mark.parametrize(("model", "what", "do"), DONE, ids=IDS)
def test_it_is_logged_once_in_words(cast, model, what, do):
    before = set(entries(cast).values_list("pk", flat=True))
    do(cast)
    made = [entry for entry in entries(cast) if entry.pk not in before and entry.what == what]
    assert len(made) == 1
    assert made[0].who_name
    assert all(isinstance(word, str) for word in made[0].words.values())
    assert "%(" not in sentence(made[0])
    assert "–" not in sentence(made[0])


@pytest.mark.parametrize(("model", "what", "do"), DONE, ids=IDS)
def test_it_is_logged_in_the_deed_s_own_transaction(cast, model, what, do, monkeypatch):
    """A full log stops the deed: the error gets out of a transaction that began with the deed."""
    outside, depths = len(connection.savepoint_ids), []
    create = Entry.objects.create

    def refuse(**fields: Any) -> Entry:
        if fields["what"] != what:
            return create(**fields)
        depths.append(len(connection.savepoint_ids))
        raise DatabaseError("no space")

    monkeypatch.setattr(Entry.objects, "create", refuse)
    with pytest.raises(DatabaseError):
        do(cast)
    assert depths
    assert all(depth > outside for depth in depths)


def test_who_publishes_is_named(cast):
    publish(cast)
    assert entries(cast).filter(what="programme").last().who_name == cast.north.educator.signed_name


def test_every_model_of_the_list_is_tried():
    assert {model for model, _what, _do in DONE} == LOGGED
