"""What may be done next about a record that the rules do not read. Nothing of it happens by itself."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from training.documents.record_words import Entry
from training.records.models import Record
from training.standing.appointments import appointments_of
from training.standing.file import FamilyFile


def next_acts(record: Record, entry: Entry, file: FamilyFile, may: Mapping[str, bool]) -> list[tuple[str, str]]:
    """Addresses with their words, by right; none about a voided record but the way to its stay."""
    body = record.data
    if record.kind == "stay":
        return list(_stay(record, file))
    if entry.voided:
        return []
    if record.kind == "event" and body["part"] == "event":
        return list(_event(record, file, may))
    return list(_appointment(record, file)) if record.kind == "appointment" and may["record"] else []


def _stay(record: Record, file: FamilyFile) -> Iterator[tuple[str, str]]:
    start = file.record(record.data.get("record") or str(record.intent))
    if start is not None:
        yield reverse("stay", args=[file.family.public_id, start.number]), _("To the whole stay")


def _event(record: Record, file: FamilyFile, may: Mapping[str, bool]) -> Iterator[tuple[str, str]]:
    family = file.family.public_id
    if may["record"]:
        yield reverse("debrief-new", args=[family, record.number]), _("Write down that it was talked through")
    for caregiver in file.caregivers:
        if caregiver.case_id not in record.data["who"]:
            continue
        asked = urlencode({"caregiver": caregiver.case_id})
        name = {"name": caregiver.called}
        if may["decide"]:
            yield f"{reverse('recheck-new', args=[family])}?{asked}", _("Ask for a recheck of %(name)s") % name
        if may["decide"] or may["record"] or may["set_up"]:
            yield f"{reverse('hold-new', args=[family])}?{asked}", _("Put %(name)s on hold") % name


def _appointment(record: Record, file: FamilyFile) -> Iterator[tuple[str, str]]:
    named = record.data.get("record") or str(record.intent)
    found = next((a for a in appointments_of(file.records) if str(a.first.intent) == named), None)
    if found is not None and not found.is_cancelled:
        address = [file.family.public_id, found.first.number]
        yield reverse("appointment-move", args=address), _("Change this appointment")
        yield reverse("appointment-cancel", args=address), _("Cancel this appointment")
