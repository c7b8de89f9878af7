"""Two organisations' rows in every table, and the site's role asking for them."""

from __future__ import annotations

import uuid
from collections.abc import Callable
from typing import Any

import pytest
from django.apps import apps
from django.db import connection

from tests.cast import NOW, Cast, Home, sign_off_suction
from tests.training.tenancy.site_role import as_site_role
from training.handover.codes import code_of
from training.handover.models import Offer
from training.invitations.deeds import invite
from training.invitations.models import RemovedAccount
from training.issuing.basis import Basis
from training.issuing.giving_out import register
from training.issuing.models import Document
from training.people.access import assign
from training.people.models import AccountEntry, Caregiver, Family, Member, Organisation
from training.standing.file import open_file
from training.standing.models import Draft, SavedFilter
from training.tenancy.policies import POLICIES
from training.tenancy.scope import scoped

OF_ORGANISATION: dict[str, Callable[[Any], int]] = {
    "people.Organisation": lambda row: row.pk,
    "people.Assignment": lambda row: row.family.organisation_id,
    "people.Caregiver": lambda row: row.family.organisation_id,
    "curriculum.Edition": lambda row: row.programme.organisation_id,
    "curriculum.RuleSet": lambda row: row.programme.organisation_id,
    "curriculum.Enrolment": lambda row: row.family.organisation_id,
    "invitations.Invitation": lambda row: row.caregiver.family.organisation_id,
    "invitations.RemovedAccount": lambda row: row.caregiver.family.organisation_id,
    "curriculum.ProgrammeDraft": lambda row: row.programme.organisation_id,
    "handover.Offer": lambda row: row.from_organisation_id,
    "standing.CachedStanding": lambda row: row.family.organisation_id,
    "standing.CachedVerdict": lambda row: row.family.organisation_id,
    "standing.CacheState": lambda row: row.family.organisation_id,
    "standing.SavedFilter": lambda row: row.member.organisation_id,
    "standing.Draft": lambda row: row.caregiver.family.organisation_id,
}


def organisation_of(label: str, row: Any) -> int:
    """Whose row it is, as Python follows it; a model with an organisation of its own needs no line above."""
    return OF_ORGANISATION.get(label, lambda row: row.organisation_id)(row)


@pytest.fixture
def rows(cast: Cast) -> dict[str, dict[int, list[int]]]:
    """For each model of the tenancy list the rows of each organisation, as the owner sees them; no list is empty."""
    for home in (cast.north, cast.south):
        fill(home)
    found: dict[str, dict[int, list[int]]] = {}
    for label in POLICIES:
        of = found.setdefault(label, {cast.north.organisation.pk: [], cast.south.organisation.pk: []})
        for row in apps.get_model(label).objects.all():
            of[organisation_of(label, row)].append(row.pk)
        assert all(of.values()), f"{label}: give both organisations a row in tests/training/tenancy/conftest.py"
    return found


def fill(home: Home) -> None:
    """What the cast does not bring."""
    sign_off_suction(home, home.mother)
    assign(member=home.supervisor, family=home.family, at=NOW)
    make_draft(home.educator, home.mother)
    home.programme.drafts.create(skill="", body={}, changed_by=home.educator, changed_at=NOW)
    invite(caregiver=home.mother, by=home.educator, intent=uuid.uuid4(), now=NOW)
    words = {"reason": "x", "by": "x", "at": NOW}
    RemovedAccount.objects.create(caregiver=home.mother, account="x", **words)
    AccountEntry.objects.create(
        user=home.supervisor.user, organisation=home.organisation, what="unlocked", because="x", by_name="x", at=NOW
    )
    code_of(home.organisation, NOW)
    give_out(home)
    SavedFilter.objects.create(member=home.supervisor, title="x", asked={})
    make_offer(home, home.organisation)  # to itself, so that it is one side's alone


def give_out(home: Home) -> Document:
    file = open_file(home.family)
    number, basis = f"N-{home.organisation.pk}", Basis(file, "packet")
    return register(number=number, data=number.encode(), basis=basis, on=NOW.date(), at=NOW)


def make_offer(home: Home, to: Organisation) -> Offer:
    return Offer.objects.create(
        intent=uuid.uuid4(),
        family=home.family,
        from_organisation=home.organisation,
        from_title=home.organisation.title,
        to=to,
        to_title=to.title,
        time_zone=home.family.time_zone,
        offered_at=NOW,
        through=NOW.date(),
        shown={},
    )


def make_draft(author: Member, caregiver: Caregiver) -> Draft:
    return Draft.objects.create(
        author=author, caregiver=caregiver, intent=uuid.uuid4(), data={}, started_at=NOW, changed_at=NOW
    )


@pytest.fixture
def no_filter(monkeypatch: pytest.MonkeyPatch) -> None:
    """The Python filter switched off: everything is visible to everybody."""
    for label in POLICIES:
        manager = type(apps.get_model(label).objects.all())
        if hasattr(manager, "visible_to"):
            monkeypatch.setattr(manager, "visible_to", lambda self, member: self.all())
    assert Family.objects.visible_to(None).count() == Family.objects.count()  # type: ignore[arg-type]


def seen(label: str, **scope: Any) -> set[int]:
    """The rows of a model that the site's role sees in this scope."""
    with as_site_role(), scoped(**scope):
        return set(apps.get_model(label).objects.values_list("pk", flat=True))


def is_postgres() -> bool:
    return connection.vendor == "postgresql"
