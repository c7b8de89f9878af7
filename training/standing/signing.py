"""What a signature says: who, in which role, when and where on the clock, and what it means in words."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from competency.chain import canonical
from competency.fields import Problem, RefusedError
from training.people.models import Caregiver, Family, Member

MEANINGS: Mapping[str, str] = {
    "demonstration": "I watched this demonstration and recorded what I saw.",
    "certificate": "I have seen this card and copied its dates.",
    "accepted": "I checked this sign-off of another organisation myself and take it over.",
    "signature": "I have seen this caregiver do it and agree that they may do it alone.",
    "own_signature": "I feel able to do this alone.",
    "hold": "I put this on hold.",
    "own_hold": "I need a pause.",
    "recheck": "I ask to see this again.",
    "withdrawal": "I withdraw this sign-off and have arranged cover.",
    "resolution": "I decide which of the two observers' results stands.",
    "override": "I let this pass count.",
    "care_plan": "I entered the care plan as ordered.",
    "authorisation": "I entered the prescriber's word as it was given.",
    "item": "I checked this.",
    "exception": "I make this exception and answer for it.",
    "void": "I void this record; it stays visible.",
    "family": "I opened or changed this file.",
    "caregiver": "I entered or changed this caregiver.",
    "qualification": "I state what this observer may assess.",
    "event": "I entered this emergency as it was told or seen; it counts for nothing.",
    "comment": "These are my own words.",
    "stay": "I entered this in the log of the stay as it was.",
    "agreement": "I say who may see which skills I am ready for.",
    "told_card": "I say that I have this card.",
    "kit_check": "I checked this myself today; it was all there.",
    "appointment": "I planned, moved or cancelled this.",
    "offer": "I offer this family to the other organisation, with the summary shown.",
    "offer_withdrawn": "I take this offer back.",
    "offer_declined": "I decline this offer for my organisation.",
    "offer_accepted": "I accept this family for my organisation.",
    "handover": "I took this family over; the other organisation's record stands beside and counts for nothing here.",
    "outside_evidence": "I was told or shown this; I did not check it, and it counts for nothing.",
    "closing": "I close this file.",
    "reopening": "I open this file again.",
    "programme": "I publish this programme for my organisation; it is ours to answer for.",
    "edition": "I publish this edition from its first day. It never changes; a change is a new edition.",
    "rules": "I publish these sets, team rules and items from their first day.",
    "transcribed": "I typed this from paper that {saw} filled in; I did not necessarily watch it.",
    "transcribed_own": "I watched this demonstration, recorded what I saw on paper, and typed it from there.",
}


def signed_by(
    who: Member | Caregiver,
    *,
    kind: str,
    at: datetime,
    family: Family | None = None,
    body: Mapping[str, Any] | None = None,
) -> dict[str, Any]:
    """The signature block of a record's body, in words that outlive the account.

    body: what is signed; who types a paper signs something else than who watched.
    """
    if isinstance(who, Member):
        zone = family.time_zone if family is not None else who.organisation.time_zone
        name, role = who.signed_name, who.get_role_display()
        meaning = _meaning(kind, (body or {}).get("transcribed"), who)
    else:
        zone, name, role = who.family.time_zone, who.full_name, who.relation
        meaning = MEANINGS.get(f"own_{kind}", MEANINGS[kind])
    return {
        "id": str(who.public_id),
        "name": name,
        "role": str(role),
        "at": at.astimezone(ZoneInfo(zone)).isoformat(timespec="minutes"),
        "zone": zone,
        "meaning": meaning,
    }


def refuse_role_account(by: Member | Caregiver) -> None:
    """An account that several people use signs nothing, whatever page it came by. Raises RefusedError."""
    if by.user is not None and by.user.is_role_account:
        raise RefusedError([Problem("signed", "this account is used by several people; nobody signs with it")])


def _meaning(kind: str, transcribed: Mapping[str, str] | None, who: Member) -> str:
    if not transcribed:
        return MEANINGS[kind]
    is_own = transcribed["saw_id"] == who.observer_id
    return MEANINGS["transcribed_own"] if is_own else MEANINGS["transcribed"].format(saw=transcribed["saw"])


def shown_digest(body: Mapping[str, Any]) -> str:
    """A digest of what stood on the screen; it travels with the form, and a draft that moved is not signed."""
    return hashlib.sha256(canonical(body)).hexdigest()
