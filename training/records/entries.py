"""A record's entry in the log: every record has one, written with it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from training.log import writing as log
from training.people.models import Caregiver, Family
from training.records.models import Record


def log_record(record: Record, body: Mapping[str, Any]) -> None:
    """Log a record that was just written, as part of the same deed."""
    log.deed(
        organisation=record.organisation,
        what=record.kind,
        by=_signer(body),
        at=record.recorded_at,
        of=_about(record),
        number=record.number,
        **_words(body),
    )


def _signer(body: Mapping[str, Any]) -> log.Who:
    """Who signed, as the signature says; what is published by command is signed by nobody."""
    signed = body.get("signed")
    return log.Who(id=signed["id"], name=signed["name"], role=signed["role"]) if signed else log.THE_SITE


def _about(record: Record) -> log.About:
    family = Family.objects.filter(public_id=record.chain).only("public_id", "name").first()
    return log.about(family) if family is not None else log.About(id=str(record.chain), name="")


def _words(body: Mapping[str, Any]) -> dict[str, str]:
    """Of the body only what tells which one it was: the caregiver's name and the skill's code."""
    words = {}
    if isinstance(body.get("skill"), str):
        words["skill"] = body["skill"]
    name = _caregiver(body.get("caregiver"))
    if name:
        words["caregiver"] = name
    return words


def _caregiver(case_id: Any) -> str | None:
    if not isinstance(case_id, str):
        return None
    return Caregiver.objects.filter(public_id=case_id).values_list("full_name", flat=True).first()
