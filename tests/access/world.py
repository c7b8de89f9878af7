"""A rich world around the standing cast: in both organisations everything the site can hold, in every state it can be in.

Each text says whose it is: `token("N", 1, "s")` is "QXN1s07", the seventh text of the hospital's first family for staff's
eyes. So a page can be asked which family's words stand on it.

Families of each organisation: 1 has everything, 2 is offered to the other organisation and waits, 3 is closed, 4 was
handed over (`received` came of it on the other side), 5 too, and the other side has entered a care plan since.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta

import time_machine
from allauth.mfa.models import Authenticator
from django.db import transaction
from django.test import override_settings

from tests.access.first_family import make_first_family
from tests.access.side import FATHER, MOTHER, OFFERED, SHARED, STAFF, Side, token
from tests.cast import (
    NOW,
    TODAY,
    Cast,
    at,
    authorise,
    find_cast,
    make_cast,
    plan,
    sign_off_suction,
)
from tests.conftest import QUICK
from tests.factories import PASSWORD, MemberFactory, UserFactory
from training.curriculum import drafting, stating
from training.handover import codes
from training.handover import deeds as handing
from training.handover.models import Offer
from training.handover.summary import summary_of
from training.people.models import AccountEntry, Caregiver, Family, Member, User
from training.standing import deeds
from training.standing.file import open_file
from training.standing.questions import FamilyOn

BEGAN = date(2026, 3, 2)


@dataclass
class World:
    cast: Cast
    north: Side
    south: Side


@contextmanager
def a_world() -> Iterator[World]:
    """The world in a transaction that is rolled back; what is done in it meanwhile is gone too."""
    quick = override_settings(PASSWORD_HASHERS=QUICK)
    with quick, time_machine.travel(NOW, tick=False), transaction.atomic():
        yield make_world()
        transaction.set_rollback(True)


def make_world() -> World:
    cast = find_cast() or make_cast()
    north, south = Side("N", cast.north), Side("S", cast.south)
    for side in (north, south):
        _people(side)
        _families(side)
        make_first_family(side)
        _curriculum(side)
    for one, other in ((north, south), (south, north)):
        _hand_over(one, other)
    return World(cast, north, south)


def _people(side: Side) -> None:
    """The four roles, and the two who are no longer let in; everybody's password is of the quick hasher."""
    organisation = side.home.organisation
    side.accounts = {role: getattr(side.home, role).user for role in Member.Role.values}
    for name in ("closed", "ended"):
        member = MemberFactory(organisation=organisation, user=UserFactory(full_name=token(side.letter, 0, STAFF)))
        side.accounts[name] = member.user
    User.objects.filter(pk=side.accounts["closed"].pk).update(is_active=False)
    Member.objects.filter(user=side.accounts["ended"]).update(through=TODAY - timedelta(days=1))
    for role in Member.Role.values:
        user = getattr(side.home, role).user
        user.full_name = f"{token(side.letter, 0, STAFF)} {role}"
        user.set_password(PASSWORD)
        user.save()
    AccountEntry.objects.create(
        user=side.home.educator.user, organisation=organisation, what="reset", because=token(side.letter, 0, STAFF),
        by_name=token(side.letter, 0, STAFF), at=NOW,
    )  # fmt: skip
    key = Authenticator.objects.create(
        user=side.home.educator.user, type=Authenticator.Type.WEBAUTHN, data={"name": "key"}
    )
    side.passkey = key.pk
    side.code = codes.code_of(organisation, NOW).code


def _families(side: Side) -> None:
    """Five families, each with a mother and a father, a care plan and the prescriber's word."""
    for number in (1, 2, 3, 4, 5):
        said = [token(side.letter, number, SHARED) for _ in range(3)]
        family = side.families[number] = deeds.open_family(
            programme=side.home.programme, name=said[0], patient_name=said[1], patient_called=said[2],
            patient_born=date(2023, 2, 1), time_zone="Europe/Oslo", by=side.home.educator, intent=uuid.uuid4(), at=at(BEGAN),
        )  # fmt: skip
        for who, eyes in (("mother", MOTHER), ("father", FATHER)):
            side.people[f"{who} {number}"] = _caregiver(side, family, number, who, eyes)
        plan(side.home, family, BEGAN, {"suction": True, "cuff": "none", "tube_id_mm": 5})
        for skill in ("suction", "tube_change"):
            authorise(side.home, family, skill, BEGAN)
    side.people["gone"] = _caregiver(side, side.families[1], 1, "aunt", "a", through=TODAY - timedelta(days=1))
    for name, person in {
        "gone": "gone",
        "mother": "mother 1",
        "father": "father 1",
        "other": "mother 2",
        "closed family": "mother 3",
    }.items():
        _account(side, name, person)


def _caregiver(side: Side, family: Family, number: int, who: str, eyes: str, through: date | None = None) -> Caregiver:
    return deeds.write_caregiver(
        family=family, full_name=token(side.letter, number, eyes), called=token(side.letter, number, eyes), relation=who,
        born=date(1990, 5, 1), is_patient=False, from_day=None, through=through, sets=["full"], by=side.home.educator,
        intent=uuid.uuid4(), at=at(BEGAN),
    )  # fmt: skip


def _account(side: Side, name: str, person: str) -> None:
    caregiver = side.people[person]
    caregiver.user = side.accounts[name] = UserFactory(full_name=caregiver.full_name)
    caregiver.user.set_password(PASSWORD)
    caregiver.user.save()
    caregiver.save(update_fields=["user"])


def _curriculum(side: Side) -> None:
    """A draft of a skill's next edition, of the sets and of the facts, with texts of their own."""
    programme, by = side.home.programme, side.home.educator
    for name, draft in (
        ("skill", drafting.begin_edition(programme, "suction", by=by, at=NOW)),
        ("rules", drafting.begin_rules(programme, by=by, at=NOW)),
        ("facts", stating.begin_facts(programme, by=by, at=NOW)),
    ):
        side.own_drafts[name] = draft
    facts = side.own_drafts["facts"]
    limits = {"all": {"low": 5, "source": token(side.letter, 0, STAFF)}}
    ranges = [{"code": "width", "title": "Width", "order": "tube_id_mm", "unit": "mm", "limits": limits}]
    drafting.save(facts, {**facts.body, "checks": {"ranges": ranges}}, version=1, by=by, at=NOW)
    facts.refresh_from_db()
    words = side.own_drafts["skill"].body
    words["words"]["why"] = token(side.letter, 0, STAFF)
    drafting.save(side.own_drafts["skill"], words, version=1, by=by, at=NOW)
    side.own_drafts["skill"].refresh_from_db()


def _hand_over(one: Side, other: Side) -> None:
    """The second family is offered and waits; the fourth and the fifth are the other organisation's now."""
    sign_off_suction(one.home, one.people["mother 5"])
    one.waiting = other.asked = _offer(one, other, 2)
    for number in (4, 5):
        other.answered = _offer(one, other, number)
        made = handing.accept(offer=other.answered, programme=other.home.programme, by=other.home.supervisor, at=NOW)
        other.received[number] = made
        other.people[f"received {number}"] = made.caregivers.get(relation="mother")
        one.families[number].refresh_from_db()
    plan(other.home, other.received[5], TODAY, {"suction": True, "cuff": "none", "tube_id_mm": 5})
    authorise(other.home, other.received[5], "suction", TODAY)


def _offer(one: Side, other: Side, number: int) -> Offer:
    return handing.offer_family(
        family=one.families[number], to=other.home.organisation, reason=token(one.letter, number, OFFERED),
        home_on=TODAY + timedelta(days=7), note=token(one.letter, number, OFFERED),
        shown=summary_of(FamilyOn(open_file(one.families[number]), TODAY)), by=one.home.supervisor, intent=uuid.uuid4(), at=NOW,
    )  # fmt: skip
