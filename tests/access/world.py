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
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import count

import time_machine
from allauth.mfa.models import Authenticator
from django.db import transaction
from django.test import override_settings

from tests.cast import (
    ALL_ALONE,
    NOW,
    TODAY,
    Cast,
    Home,
    at,
    authorise,
    find_cast,
    make_cast,
    plan,
    show,
    sign_off_suction,
    write,
)
from tests.conftest import QUICK
from tests.factories import PASSWORD, MemberFactory, UserFactory
from tests.training.kept import appointment_body, comment_body, duty_body, event_body, keep, start_body, stepped_in_body
from training.curriculum import drafting
from training.curriculum.models import Programme, ProgrammeDraft
from training.handover import codes
from training.handover import deeds as handing
from training.handover.models import Offer
from training.handover.summary import summary_of
from training.invitations import deeds as invitations
from training.people.access import assign
from training.people.models import AccountEntry, Caregiver, Family, Member, User
from training.records.models import Record
from training.standing import deeds, drafts
from training.standing.file import open_file
from training.standing.models import Draft
from training.standing.pauses import pause
from training.standing.questions import FamilyOn

BEGAN = date(2026, 3, 2)

# Whose eyes a text is for: staff's alone (t: about the father), one caregiver's, everybody's in the family, a draft's
# author's, or those of an organisation that a family is offered to.
STAFF, ABOUT_FATHER, MOTHER, FATHER, SHARED, AUTHOR, OFFERED = "s", "t", "m", "f", "p", "d", "o"
_numbers = count(1)


def token(letter: str, family: int, eyes: str) -> str:
    return f"QX{letter}{family}{eyes}{next(_numbers):04}"


@dataclass
class Side:
    """One organisation with everything in it. records: the number in the first family's chain, by what it is."""

    letter: str
    home: Home
    families: dict[int, Family] = field(default_factory=dict)
    people: dict[str, Caregiver] = field(default_factory=dict)
    records: dict[str, Record] = field(default_factory=dict)
    accounts: dict[str, User] = field(default_factory=dict)
    received: dict[int, Family] = field(default_factory=dict)  # by the number they have at the other's
    waiting: Offer | None = None  # one that this side offered
    asked: Offer | None = None  # one that was offered to this side
    answered: Offer | None = None  # one that this side accepted
    draft: Draft | None = None
    second_draft: Draft | None = None
    own_drafts: dict[str, ProgrammeDraft] = field(default_factory=dict)
    code: str = ""

    passkey: int = 0

    @property
    def programme(self) -> Programme:
        return self.home.programme

    @property
    def educator(self) -> Member:
        return self.home.educator


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
        _first_family(side)
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


def _first_family(side: Side) -> None:
    """A record of every kind, each text with its own token; a void, a dispute, drafts, an invitation, a stay."""
    home, family = side.home, side.families[1]
    mother, father = side.people["mother 1"], side.people["father 1"]
    mine, his, kept = {"caregiver": mother.case_id}, {"caregiver": father.case_id}, side.records

    def say(eyes: str = STAFF) -> str:
        return token(side.letter, 1, eyes)

    day = {"on": "2026-05-10"}
    failed = {**ALL_ALONE["suction"], "s01": "prompted"}
    kept["signed"] = show(home, mother, "hands", TODAY - timedelta(days=40), note=say())
    kept["voided"] = show(home, mother, "hands", TODAY - timedelta(days=41), note=say())
    kept["void"] = write(home.educator, family, "void", NOW, record=str(kept["voided"].intent), reason=say())
    for days in (12, 10):
        show(home, mother, "suction", TODAY - timedelta(days=days))
        show(home, father, "suction", TODAY - timedelta(days=days))
    kept["his"] = show(
        home, father, "suction", TODAY, results=failed, reteach={"line": say(FATHER), "on": None}, note=say(ABOUT_FATHER),
        teach_back=say(FATHER),
    )  # fmt: skip
    seconds = {
        "observer": home.supervisor.observer_id,
        "results": {"s01": "prompted", "s02": "independent", "s03": "independent"},
    }
    kept["disputed"] = show(home, mother, "tube_change", TODAY - timedelta(days=1), second=seconds, note=say())
    kept["gated"] = show(home, mother, "tube_change", TODAY - timedelta(days=3))
    kept["awaiting"] = show(home, mother, "emergency", TODAY - timedelta(days=6))
    for body, eyes in ((mine, STAFF), (his, ABOUT_FATHER)):
        write(home.supervisor, family, "hold", NOW, **body, **day, skill="emergency", through=None, reason=say(eyes))
        write(home.supervisor, family, "recheck", NOW, **body, **day, skill="suction", reason=f"{say(eyes)} incident")
        write(
            home.supervisor, family, "withdrawal", NOW, **body, **day, skill="hands", reason=say(eyes), cover=say(eyes)
        )
    gated = show(home, mother, "tube_change", TODAY - timedelta(days=2))
    kept["override"] = write(home.supervisor, family, "override", NOW, **mine, record=str(gated.intent), reason=say())
    kept["own hold"] = pause(caregiver=mother, intent=uuid.uuid4(), at=NOW)
    excepted = {"from": "2026-05-10", "through": "2026-06-01", "by": home.supervisor.observer_id, "reason": say()}
    kept["exception"] = deeds.record(
        family=family,
        kind="exception",
        body={"missing": "team", **excepted},
        by=home.supervisor,
        intent=uuid.uuid4(),
        at=NOW,
    )
    write(home.educator, family, "item", NOW, item="kit", **day, note=say())
    for body, eyes in ((mine, STAFF), (his, ABOUT_FATHER)):
        write(home.educator, family, "certificate", NOW, **body, **day, skill="cpr_card", through=None, note=say(eyes))
    write(
        home.supervisor, family, "accepted", NOW, **his, skill="tube_change", on="2026-05-11", last_day="2026-06-01",
        organisation=say(ABOUT_FATHER), how=say(ABOUT_FATHER),
    )  # fmt: skip
    kept["event"] = keep(home.educator, family, "event", **event_body(mother, happened=say(), done=say()))
    keep(home.educator, family, "event", **event_body(father, happened=say(ABOUT_FATHER), done=say(ABOUT_FATHER)))
    keep(mother, family, "comment", **comment_body(mother, kept["signed"], said=say(MOTHER)))
    keep(father, family, "comment", **comment_body(father, kept["his"], said=say(FATHER)))
    stay = kept["stay"] = keep(home.educator, family, "stay", **start_body(place=say()))
    keep(home.educator, family, "stay", **duty_body(stay, [mother], ("2026-05-12", "09:00"), ("2026-05-12", "21:00")))
    keep(home.educator, family, "stay", **stepped_in_body(stay, reason=say(), by_whom=say()))
    kept["appointment"] = keep(
        home.educator, family, "appointment", **appointment_body(mother, what=say(MOTHER), place=say(MOTHER))
    )
    keep(
        home.educator,
        family,
        "appointment",
        **appointment_body(father, what=say(FATHER), place=say(FATHER), day="2026-05-22"),
    )
    keep(
        father, family, "told_card", **his, skill="cpr_card", dated="2026-05-01", through=None, note=say(FATHER),
        on=TODAY.isoformat(),
    )  # fmt: skip
    keep(
        home.educator,
        family,
        "outside_evidence",
        caregiver=father.case_id,
        evidence=say(ABOUT_FATHER),
        says=say(ABOUT_FATHER),
        **day,
    )
    authorise(home, family, "suction", date(2026, 4, 1))
    side.draft, side.second_draft = _draft(side, mother, say(AUTHOR)), _draft(side, father, say(AUTHOR))
    assign(member=home.educator, family=family, at=NOW)
    invitations.invite(caregiver=side.people["father 2"], by=home.educator, intent=uuid.uuid4(), now=NOW)
    write(
        home.supervisor,
        side.families[3],
        "closing",
        NOW,
        why="moved",
        on=TODAY.isoformat(),
        note=token(side.letter, 3, STAFF),
    )


def _draft(side: Side, caregiver: Caregiver, said: str) -> Draft:
    """One that has begun: its first step is answered, a second observer is named, a note is written."""
    data = drafts.beginning(
        purpose="assessment", on=TODAY, time="09:30", skill="suction", edition=1, setting="patient", role="lead",
        mode="in_person", place="hospital", observer=side.home.educator, began=None, second=side.home.supervisor,
    )  # fmt: skip
    data = {**data, "results": {"s01": "independent"}, "note": said}
    return drafts.start(author=side.home.educator, caregiver=caregiver, data=data, intent=uuid.uuid4(), at=NOW)


def _curriculum(side: Side) -> None:
    """A draft of a skill's next edition and one of the sets, each with a text of its own."""
    programme, by = side.home.programme, side.home.educator
    for name, draft in (
        ("skill", drafting.begin_edition(programme, "suction", by=by, at=NOW)),
        ("rules", drafting.begin_rules(programme, by=by, at=NOW)),
    ):
        side.own_drafts[name] = draft
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
