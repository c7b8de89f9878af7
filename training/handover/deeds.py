"""The deeds of a hand-over: offer, withdraw, decline, accept. Each is one transaction; the same post twice is one deed.

Every one of them takes the offer's row first and the offering chain's lock next, so that two of them never wait for
each other, and whoever comes second finds the offer ended.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import transaction

from training.curriculum.models import Enrolment, Programme
from training.handover.keeping import Kept, keep
from training.handover.models import Offer
from training.people.models import Caregiver, Family, Member, Organisation
from training.records.appending import append, head_of, lock_chain
from training.records.exported import export_lines
from training.standing import deeds
from training.standing.deeds import iso
from training.standing.handover import DAYS_OPEN
from training.standing.signing import signed_by
from training.tenancy.scope import inside


class OfferEndedError(Exception):
    """The offer was answered, was taken back, or ran out. Nothing was written; carries the offer as it is."""

    def __init__(self, offer: Offer) -> None:
        self.offer = offer
        super().__init__(f"offer {offer.public_id} is {offer.ended or 'over'}")


@transaction.atomic
def offer_family(
    *,
    family: Family,
    to: Organisation,
    reason: str,
    home_on: date | None,
    note: str,
    shown: Mapping[str, Any],
    by: Member,
    intent: uuid.UUID,
    at: datetime,
) -> Offer:
    """Offer a family to another organisation. shown: the summary that stood on the screen.

    Raises RefusedError when the family is offered already or its file is closed.
    """
    lock_chain(family.public_id)
    there = Offer.objects.filter(intent=intent, family=family).first()
    if there is not None:
        return there
    today = family.today(at)
    body = {
        "to": to.title,
        "to_id": str(to.public_id),
        "on": iso(today),
        "through": iso(today + DAYS_OPEN),
        "reason": reason,
        "home_on": iso(home_on),
        "note": note,
        "summary": dict(shown),
    }
    deeds.record(family=family, kind="offer", body=body, by=by, intent=intent, at=at)
    over = Offer.objects.waiting().filter(family=family)
    over.update(ended=Offer.Ended.EXPIRED, ended_at=at)  # the rules found none that still waits
    signed = signed_by(by, kind="offer", at=at, family=family)
    told = {"reason": reason, "home_on": iso(home_on), "note": note, "by": f"{signed['name']}, {signed['role']}"}
    return Offer.objects.create(
        public_id=uuid.uuid5(intent, "offer"),
        intent=intent,
        family=family,
        from_organisation=family.organisation,
        from_title=family.organisation.title,
        time_zone=family.time_zone,
        to=to,
        to_title=to.title,
        offered_at=at,
        through=today + DAYS_OPEN,
        shown={**shown, **told},
    )


@transaction.atomic
def withdraw(*, offer: Offer, reason: str, by: Member, at: datetime) -> Offer:
    """Take an offer back. Raises OfferEndedError where it is over."""
    offer = _taken(offer)
    if offer.ended != Offer.Ended.WITHDRAWN:
        _refuse_ended(offer, at)
        _end(offer, "offer_withdrawn", {"reason": reason}, by=by, at=at)
    return offer


@transaction.atomic
def decline(*, offer: Offer, reason: str, by: Member, at: datetime) -> Offer:
    """Decline for the receiving organisation. Both sides keep a record. Raises OfferEndedError where it is over."""
    offer = _taken(offer)
    if offer.ended != Offer.Ended.DECLINED:
        _refuse_ended(offer, at)
        body = {"reason": reason, "from_title": offer.from_title}
        _own_record(offer, "offer_declined", body, by=by, at=at)
        _end(offer, "offer_declined", {"reason": reason}, by=by, at=at)
    return offer


@transaction.atomic
def accept(*, offer: Offer, programme: Programme, by: Member, at: datetime) -> Family:
    """Accept for the receiving organisation: its own file begins, beside the other's record as it was handed over.

    Raises OfferEndedError where it is over, and MisfitError where the other chain does not fit its own digests; nothing
    is accepted then. Accepted twice, by two members even, it is one family.
    """
    offer = _taken(offer)
    if offer.made is not None:
        return offer.made
    _refuse_ended(offer, at)
    with inside(offer.from_organisation_id):
        theirs = _with_people(offer)
        head, lines = head_of(theirs.public_id)[1], list(export_lines(theirs))
    _own_record(offer, "offer_accepted", {"from_title": offer.from_title}, by=by, at=at)
    kept = keep(lines, offer=offer, organisation=by.organisation, head=head, at=at)
    family = _begin(offer, theirs, kept, programme, by=by, at=at)
    offer.made = family
    _end(offer, "offer_accepted", {"head": kept.head, "records": kept.count, "sha256": kept.sha256}, by=by, at=at)
    return family


# Their pieces ---------------------------------------------------------------------------------------------


def _taken(offer: Offer) -> Offer:
    """The offer as it stands, and its chain, for this transaction alone."""
    Offer.objects.select_for_update().get(pk=offer.pk)
    # Read anew: a row that was waited for comes without what was joined to it meanwhile.
    offer = Offer.objects.select_related("made").get(pk=offer.pk)
    with inside(offer.from_organisation_id):
        lock_chain(offer.family.public_id)
    return offer


def _with_people(offer: Offer) -> Family:
    """The offered family with its organisation and its caregivers, read while inside that organisation."""
    rows = Family.objects.select_related("organisation", "enrolment__programme__organisation")
    return rows.prefetch_related("caregivers").get(pk=offer.family_id)


def _refuse_ended(offer: Offer, at: datetime) -> None:
    if not offer.is_open(at):
        raise OfferEndedError(offer)


def _end(offer: Offer, kind: str, body: Mapping[str, Any], *, by: Member, at: datetime) -> None:
    """Write what became of it into the offering file, and into the row that follows from it."""
    whole = {"record": str(offer.intent), "on": iso(offer.today(at)), "to": offer.to_title, **body}
    with inside(offer.from_organisation_id):
        family = _with_people(offer)
        deeds.record(family=family, kind=kind, body=whole, by=by, intent=uuid.uuid5(offer.intent, kind), at=at)
    offer.ended = kind.removeprefix("offer_")
    offer.ended_at, offer.ended_by = at, f"{by.signed_name}, {by.get_role_display()}"
    offer.ended_reason = str(body.get("reason", ""))
    offer.save(update_fields=["ended", "ended_at", "ended_by", "ended_reason", "made"])


def _own_record(offer: Offer, kind: str, body: Mapping[str, Any], *, by: Member, at: datetime) -> None:
    """What the receiving organisation keeps of its answer: the first record of the offer's own chain."""
    signed = signed_by(by, kind=kind, at=at)
    append(
        organisation=by.organisation,
        chain=offer.public_id,
        kind=kind,
        body={**body, "shown": offer.shown, "signed": signed},
        intent=uuid.uuid5(offer.intent, f"own {kind}"),
        at=at,
    )


def _begin(offer: Offer, theirs: Family, kept: Kept, programme: Programme, *, by: Member, at: datetime) -> Family:
    """The new file: the hand-over first, then who the patient and the caregivers are. No standing, no account, no
    agreed set, no care plan and no authorisation comes along.
    """
    family = Family.objects.create(
        public_id=uuid.uuid5(offer.intent, "family"),
        organisation=by.organisation,
        name=theirs.name,
        patient_name=theirs.patient_name,
        patient_called=theirs.patient_called,
        patient_born=theirs.patient_born,
        time_zone=theirs.time_zone,
    )
    Enrolment.objects.create(family=family, programme=programme)
    people = {c: uuid.uuid5(offer.intent, f"caregiver {c.case_id}") for c in _still_here(theirs, at)}
    _write(family, "handover", _handover(offer, theirs, kept, people, at), offer, by, at)
    _write(family, "family", _first_page(family, programme), offer, by, at)
    for caregiver, public_id in people.items():
        _write(family, "caregiver", _person(caregiver, public_id), offer, by, at)
    return family


def _write(family: Family, kind: str, body: Mapping[str, Any], offer: Offer, by: Member, at: datetime) -> None:
    intent = uuid.uuid5(offer.intent, f"begin {kind} {body.get('id', '')}")
    deeds.record(family=family, kind=kind, body=body, by=by, intent=intent, at=at)


def _still_here(family: Family, at: datetime) -> list[Caregiver]:
    today = family.today(at)
    return [c for c in family.caregivers.all() if c.through is None or today <= c.through]


def _handover(
    offer: Offer, theirs: Family, kept: Kept, people: Mapping[Caregiver, uuid.UUID], at: datetime
) -> dict[str, Any]:
    return {
        "on": iso(offer.today(at)),
        "from_title": theirs.organisation.title,
        "from_id": str(theirs.organisation.public_id),
        "from_family": str(theirs.public_id),
        "offer": str(offer.public_id),
        "head": kept.head,
        "records": kept.count,
        "sha256": kept.sha256,
        "bytes": kept.size,
        "pieces": kept.pieces,
        "people": {c.case_id: str(public_id) for c, public_id in people.items()},
    }


def _first_page(family: Family, programme: Programme) -> dict[str, Any]:
    return {
        "name": family.name,
        "patient": {"name": family.patient_name, "called": family.patient_called, "born": iso(family.patient_born)},
        "zone": family.time_zone,
        "site": "",  # theirs says nothing here
        "programme": str(programme.public_id),
    }


def _person(caregiver: Caregiver, public_id: uuid.UUID) -> dict[str, Any]:
    return {
        "id": str(public_id),
        "name": caregiver.full_name,
        "called": caregiver.called,
        "relation": caregiver.relation,
        "born": iso(caregiver.born),
        "is_patient": caregiver.is_patient,
        "from": None,
        "through": iso(caregiver.through),
        "sets": [],
    }
