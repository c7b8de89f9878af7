"""The standing cast: two organisations, each with four roles, two families and their caregivers; and a way to act.

Everything happens around `NOW`, 14 May 2026 at 10:00 where the families live. Names are invented.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from tests.factories import MemberFactory, OrganisationFactory, UserFactory
from training.curriculum.models import Programme
from training.curriculum.programme_file import read_file
from training.people.models import Caregiver, Family, Member, Organisation, User
from training.records.models import Record
from training.standing import deeds

NOW = datetime(2026, 5, 14, 8, 0, tzinfo=UTC)  # 10:00 in Oslo
TODAY = date(2026, 5, 14)
FIRST_DAY = date(2026, 3, 2)
TITLES = {"hospital": "Northlea Children's Hospital", "agency": "Southmere Home Care"}
PROGRAMME = Path(__file__).with_name("small_programme.yaml").read_text()

ALL_ALONE = {
    "hands": {"s01": "independent", "s02": "independent"},
    "suction": {
        "s01": "independent",
        "s02": "independent",
        "s03": {"result": "independent", "value": 8},
        "s04": "independent",
        "s06": "independent",
    },
    "tube_change": {"s01": "independent", "s02": "independent", "s03": "independent"},
    "emergency": {"s01": "independent", "s02": "independent"},
}


@dataclass
class Home:
    """One organisation's people and families."""

    organisation: Organisation
    programme: Programme
    educator: Member
    supervisor: Member
    administrator: Member
    auditor: Member
    families: list[Family] = field(default_factory=list)

    @property
    def family(self) -> Family:
        return self.families[0]

    @property
    def mother(self) -> Caregiver:
        return self.family.caregivers.get(called="Marit" if self.organisation.kind == "hospital" else "Desta")

    @property
    def father(self) -> Caregiver:
        return self.family.caregivers.get(relation="father")


@dataclass
class Cast:
    north: Home
    south: Home
    stranger: User


def at(day: date, hour: int = 12) -> datetime:
    """An instant on that day, in UTC."""
    return datetime(day.year, day.month, day.day, hour, tzinfo=UTC)


def make_cast() -> Cast:
    north = make_home(TITLES["hospital"], "hospital", [("Okonjo-Lind", "Ilse"), ("Quist", "Peder")])
    south = make_home(TITLES["agency"], "agency", [("Abara-Voss", "Noor"), ("Brindle", "Silvan")])
    return Cast(north, south, UserFactory(full_name="Stray Stranger"))


def find_cast() -> Cast | None:
    """The cast that stands in the database already; None where a flush has emptied it."""
    homes = []
    for kind in ("hospital", "agency"):
        organisation = Organisation.objects.filter(kind=kind, title__in=TITLES.values()).first()
        if organisation is None:
            return None
        people = {m.role: m for m in organisation.members.select_related("user", "organisation")}
        families = list(organisation.families.order_by("pk"))
        homes.append(Home(organisation, organisation.programmes.get(), **people, families=families))
    return Cast(*homes, stranger=User.objects.get(full_name="Stray Stranger"))


def make_home(title: str, kind: str, families: list[tuple[str, str]]) -> Home:
    organisation = OrganisationFactory(title=title, kind=kind)
    people = {role: MemberFactory(organisation=organisation, role=role) for role in Member.Role.values}
    programme = deeds.publish_programme(organisation=organisation, file=read_file(PROGRAMME), at=at(date(2024, 12, 1)))
    home = Home(organisation, programme, **people)
    for who in ("educator", "supervisor"):
        deeds.qualify(
            observer=people[who],
            skill=None,
            from_day=date(2025, 1, 1),
            through=None,
            by=people["administrator"],
            intent=uuid.uuid4(),
            at=at(date(2025, 1, 2)),
        )
    for name, patient in families:
        home.families.append(make_family(home, name, patient))
    return home


def make_family(home: Home, name: str, patient: str) -> Family:
    family = deeds.open_family(
        programme=home.programme,
        name=name,
        patient_name=f"{patient} {name}",
        patient_called=patient,
        patient_born=date(2023, 2, 1),
        time_zone="Europe/Oslo",
        by=home.educator,
        intent=uuid.uuid4(),
        at=at(FIRST_DAY),
    )
    hospital = home.organisation.kind == "hospital"
    for called, relation in (
        [("Marit", "mother"), ("Joram", "father")] if hospital else [("Desta", "mother"), ("Kofi", "father")]
    ):
        deeds.write_caregiver(
            family=family,
            full_name=f"{called} {name}",
            called=called,
            relation=relation,
            born=date(1990, 5, 1),
            is_patient=False,
            from_day=None,
            through=None,
            sets=["full"],
            by=home.educator,
            intent=uuid.uuid4(),
            at=at(FIRST_DAY),
        )
    plan(home, family, FIRST_DAY, {"suction": True, "cuff": "none", "tube_id_mm": 5})
    for skill in ("suction", "tube_change"):
        authorise(home, family, skill, FIRST_DAY)
    return family


def write(by: Member, family: Family, kind: str, when: datetime, **body: Any) -> Record:
    return deeds.record(family=family, kind=kind, body=body, by=by, intent=uuid.uuid4(), at=when)


def plan(home: Home, family: Family, day: date, facts: Mapping[str, Any]) -> Record:
    return write(home.educator, family, "care_plan", at(day), on=day.isoformat(), time=None, facts=dict(facts))


def authorise(home: Home, family: Family, skill: str, day: date, through: date | None = None) -> Record:
    return write(
        home.educator,
        family,
        "authorisation",
        at(day),
        skill=skill,
        prescriber="Dr A. Prescriber",
        **{"from": day.isoformat(), "through": through.isoformat() if through else None},
    )


def demonstration(caregiver: Caregiver, skill: str, day: date, observer: Member, **changes: Any) -> dict[str, Any]:
    """The body of a demonstration in which every step was done alone, unless changed."""
    simulated = skill == "emergency"
    return {
        "caregiver": caregiver.case_id,
        "purpose": "assessment",
        "on": day.isoformat(),
        "time": "09:00",
        "skill": skill,
        "edition": 1,
        "setting": "simulation" if simulated else "patient",
        "role": "lead",
        "mode": "in_person",
        "place": "hospital",
        "observers": [observer.observer_id],
        "results": ALL_ALONE[skill],
        "second": None,
        "stopped": None,
        "began": None,
        **changes,
    }


def show(home: Home, caregiver: Caregiver, skill: str, day: date, **changes: Any) -> Record:
    """Sign a demonstration seen by the educator on ``day``."""
    body = demonstration(caregiver, skill, day, home.educator, **changes)
    return write(home.educator, caregiver.family, "demonstration", at(day), **body)


def sign_off_suction(home: Home, caregiver: Caregiver, last: date = TODAY - timedelta(days=10)) -> None:
    """Two passes on two days, the second on ``last``."""
    show(home, caregiver, "suction", last - timedelta(days=2))
    show(home, caregiver, "suction", last)
