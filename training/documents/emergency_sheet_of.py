"""A family's care plan on one day as the emergency sheet for the wall."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime

from django.utils.translation import gettext as _

from training.documents.emergency_sheet import EmergencySheet, Place
from training.standing.questions import FamilyOn


def emergency_sheet_of(picture: FamilyOn, *, known_at: datetime) -> EmergencySheet:
    """known_at: when the newest record that bears on it was made."""
    family, plan = picture.family, picture.care_plan
    return EmergencySheet(
        organisation=family.organisation.title,
        patient=family.patient_called,
        as_of=picture.day,
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        notice=picture.words.notice,
        rows=_rows(picture),
        care_plan_since=date.fromisoformat(plan.data["on"]) if plan else None,
    )


def _rows(picture: FamilyOn) -> tuple[tuple[Place, ...], ...]:
    stated = {fact.code: fact.value for fact in picture.facts if fact.is_stated}
    codes = _codes(picture.file.programme.about.get("checks") or {})

    def place(title: str, code: str) -> Place:
        return Place(title=title, value=stated.get(code, ""))

    return (
        (
            place(_("Inner diameter"), codes["inner"]),
            place(_("Outer diameter"), codes["outer"]),
            place(_("Length"), "tube_length_mm"),
        ),
        (
            place(_("Cuff"), "cuff"),
            place(_("Inner cannula"), "inner_cannula"),
            place(_("Air by mouth and nose"), "upper_airway"),
        ),
        (
            place(_("Spare, same size"), codes["inner"]),
            Place(title=_("Spare, one size smaller")),
            place(_("Suction catheter"), codes["catheter"]),
            place(_("Suction depth"), "suction_depth_cm"),
        ),
    )


def _codes(checks: Mapping[str, Mapping[str, str]]) -> dict[str, str]:
    """Which facts are the tube's sizes and the catheter: those the programme has checked, else the samples' own."""
    tube, catheter = checks.get("tube") or {}, checks.get("catheter") or {}
    return {
        "inner": tube.get("inner", "tube_id_mm"),
        "outer": tube.get("outer", "tube_od_mm"),
        "catheter": catheter.get("order", "catheter_fr"),
    }
