"""Which entries are asked for: by family, person, kind and days."""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django import forms
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from training.log.models import Entry, EntryQuerySet
from training.pages.setup.fields import DayField, in_order
from training.people.models import Caregiver, Family, Member


class Asked(forms.Form):
    """What cannot be read is said, and then nothing of it is asked."""

    family = forms.CharField(label=_("Family"), required=False, max_length=200)
    person = forms.CharField(label=_("Who"), required=False, max_length=200)
    kind = forms.ChoiceField(
        label=_("What"),
        required=False,
        choices=[("", _("Everything")), ("deed", _("Deeds")), ("read", _("Reads")), ("access", _("Sign-ins"))],
    )
    first = DayField(label=_("From"), required=False)
    last = DayField(label=_("Through"), required=False)

    def clean(self) -> dict[str, Any]:
        in_order(self, "first", "last")
        return self.cleaned_data

    @property
    def words(self) -> dict[str, str]:
        """As a session keeps them."""
        return {n: v.isoformat() if isinstance(v, date) else v or "" for n, v in self.cleaned_data.items()}


def entries(member: Member, asked: Mapping[str, Any], family: uuid.UUID | None = None) -> EntryQuerySet:
    """The entries of this member's organisation that fit, newest first. family: of this one alone."""
    rows = Entry.objects.visible_to(member)
    if family is not None:
        rows = rows.filter(about_id=str(family))
    if asked.get("family"):
        rows = rows.filter(about_id__in=_families(member, asked["family"]))
    if asked.get("person"):
        rows = rows.filter(who_id__in=_people(member, asked["person"]))
    if asked.get("kind"):
        rows = rows.filter(kind=asked["kind"])
    return _between(rows, member, asked.get("first"), asked.get("last"))


def _between(rows: EntryQuerySet, member: Member, first: date | None, last: date | None) -> EntryQuerySet:
    """Both days whole, where the organisation is."""
    zone = ZoneInfo(member.organisation.time_zone)
    if first:
        rows = rows.filter(at__gte=datetime.combine(first, time.min, zone))
    if last:
        rows = rows.filter(at__lt=datetime.combine(last + timedelta(days=1), time.min, zone))
    return rows


def before(rows: EntryQuerySet, entry: Entry | None) -> EntryQuerySet:
    """Those older than this one."""
    if entry is None:
        return rows
    return rows.filter(Q(at__lt=entry.at) | Q(at=entry.at, pk__lt=entry.pk), at__lte=entry.at)


def _families(member: Member, name: str) -> list[str]:
    """The ids of families of this name now, which their entries have whatever they were called then."""
    named = Q(name__icontains=name) | Q(patient_name__icontains=name)
    rows = Family.objects.visible_to(member).filter(named)
    return [str(found) for found in rows.values_list("public_id", flat=True)]


def _people(member: Member, name: str) -> list[str]:
    staff = Member.objects.filter(organisation=member.organisation_id, user__full_name__icontains=name)
    carers = Caregiver.objects.visible_to(member).filter(full_name__icontains=name)
    return [str(found) for rows in (staff, carers) for found in rows.values_list("public_id", flat=True)]
