"""A record's entry in the log: every record has one, written with it."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from typing import Any

from training.log import writing as log
from training.people.models import Caregiver, Family, Member
from training.records.models import Record


def log_record(record: Record, body: Mapping[str, Any]) -> None:
    """Log a record that was just written, as part of the same deed."""
    log.deed(
        organisation=record.organisation,
        what=_what(record),
        by=_signer(body),
        at=record.recorded_at,
        of=_about(record),
        number=record.number,
        **_words(record, body),
    )


def _signer(body: Mapping[str, Any]) -> log.Who:
    """Who signed, as the signature says; what is published by command is signed by nobody."""
    signed = body.get("signed")
    return log.Who(id=signed["id"], name=signed["name"], role=signed["role"]) if signed else log.THE_SITE


def _about(record: Record) -> log.About:
    family = Family.objects.filter(public_id=record.chain).only("public_id", "name").first()
    return log.about(family) if family is not None else log.About(id=str(record.chain), name="")


def _is_staff(record: Record) -> bool:
    return record.chain == record.organisation.public_id


def _what(record: Record) -> str:
    """The record's kind; what staff may assess is ended by a void."""
    return "qualification-ended" if record.kind == "void" and _is_staff(record) else record.kind


def _words(record: Record, body: Mapping[str, Any]) -> dict[str, str]:
    """Of the body only what tells which one it was: a name, and the skill's code."""
    if _is_staff(record):
        return _about_staff(record, body)
    words = {}
    if isinstance(body.get("skill"), str):
        words["skill"] = body["skill"]
    name = _caregiver(body.get("caregiver"))
    if name:
        words["caregiver"] = name
    return words


def _about_staff(record: Record, body: Mapping[str, Any]) -> dict[str, str]:
    if record.kind == "void":
        stated = Record.objects.filter(chain=record.chain, intent=body["record"]).first()
        return _about_staff(stated, stated.data) if stated is not None else {}
    member = Member.objects.filter(public_id=body.get("observer")).select_related("user").first()
    name = member.signed_name if member is not None else str(body.get("observer"))
    return {"member": name, "skill": body.get("skill") or "every skill"}


def _caregiver(case_id: Any) -> str | None:
    try:
        public_id = uuid.UUID(case_id)
    except (AttributeError, TypeError, ValueError):
        return None
    return Caregiver.objects.filter(public_id=public_id).values_list("full_name", flat=True).first()
