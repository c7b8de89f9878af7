"""Loads the demo into an empty database: all of it or nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import yaml
from django.contrib.auth.hashers import make_password
from django.db import transaction

from competency.fields import RefusedError
from training.exchange.demo.days import born, day_of
from training.exchange.demo.offers import offer
from training.exchange.demo.people import FIXTURES, Home, intent, make_home, organisations
from training.exchange.demo.story import Story
from training.exchange.demo.together import together
from training.people.models import Caregiver, Family, User
from training.standing import deeds
from training.standing.file import rules_of


class DemoError(Exception):
    """A family's file says something the rules refuse. Nothing was written."""


@dataclass(frozen=True, slots=True)
class FamilySheet:
    """One family's file, read. home: the key of its organisation, which is its folder's name."""

    home: str
    name: str
    about: dict[str, Any]


def sheets(folder: Path = FIXTURES / "demo") -> list[FamilySheet]:
    """The families in the order of their files: the hospital's, then the agency's."""
    return [
        FamilySheet(about["key"], path.stem, yaml.safe_load(path.read_text()))
        for about in organisations()["organisations"]
        for path in sorted((folder / about["key"]).glob("*.yaml"))
    ]


@transaction.atomic
def load(now: datetime, families: Iterable[FamilySheet], say: Callable[[str], object]) -> dict[str, Family]:
    """Write both organisations and these families as of ``now``; the families by their file's name.

    say: told what is being written. Raises DemoError where the rules refuse a record.
    """
    about = organisations()
    hashed = make_password(about["password"])  # slow on purpose, so once
    homes: dict[str, Home] = {}
    for one in about["organisations"]:
        say(f"{one['title']}: programme and members")
        homes[one["key"]] = make_home(one, hashed, now)
    found = {}
    for sheet in families:
        say(sheet.about["name"])
        found[sheet.name] = _write(sheet, homes[sheet.home], hashed, now)
        if "offered" in sheet.about:
            told = sheet.about["offered"]
            offer(told, found[sheet.name], homes[sheet.home], homes[told["to"]], now)
    return found


def _write(sheet: FamilySheet, home: Home, hashed: str, now: datetime) -> Family:
    family = _open(sheet, home, now)
    today = family.today(now)
    opened = datetime.combine(day_of(sheet.about["opened"], today), time(7, 30), family.zone)
    people = {
        person["called"]: _caregiver(person, family, home, opened, hashed, today)
        for person in sheet.about["caregivers"]
    }
    rules = rules_of(home.programme.pk, home.programme.version)
    story = Story(sheet.about, home, rules, family, people, today)
    for number, deed in enumerate(sorted([*story.deeds(), *together(story)], key=lambda deed: deed.at)):
        try:
            deeds.record(
                family=family,
                kind=deed.kind,
                body=deed.body,
                by=deed.by,
                intent=intent(family.public_id, deed.label or number),
                at=deed.at,
            )
        except RefusedError as refusal:
            raise DemoError(f"{sheet.name}: {deed.kind} of {deed.at:%Y-%m-%d}: {refusal}") from refusal
    return family


def _open(sheet: FamilySheet, home: Home, now: datetime) -> Family:
    about, patient = sheet.about, sheet.about["patient"]
    zone = about.get("zone", home.organisation.time_zone)
    today = Family(time_zone=zone).today(now)
    return deeds.open_family(
        programme=home.programme,
        name=about["name"],
        patient_name=patient["name"],
        patient_called=patient["called"],
        patient_born=born(patient["age"], today),
        time_zone=zone,
        site=about.get("site", ""),
        by=home.observer(0),
        intent=intent(sheet.home, sheet.name),
        at=datetime.combine(day_of(about["opened"], today), time(7, 15), Family(time_zone=zone).zone),
    )


def _caregiver(person: dict[str, Any], family: Family, home: Home, at: datetime, hashed: str, today: date) -> Caregiver:
    caregiver = deeds.write_caregiver(
        family=family,
        full_name=person["name"],
        called=person["called"],
        relation=person["relation"],
        born=born(person["age"], today) if "age" in person else None,
        is_patient=person.get("is_patient", False),
        from_day=None,
        through=None,
        sets=person["sets"],
        by=home.observer(0),
        intent=intent(family.public_id, "caregiver", person["called"]),
        at=at,
    )
    if "account" in person:
        caregiver.user = User.objects.create(username=person["account"], password=hashed, full_name=person["name"])
        caregiver.save(update_fields=["user"])
    return caregiver
