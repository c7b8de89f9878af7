"""What is recorded about a family. Each dated thing has an id and says when it was recorded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime
from enum import StrEnum

from competency.programme import Facts, Programme


class Result(StrEnum):
    """What was seen of one step."""

    INDEPENDENT = "independent"
    PROMPTED = "prompted"
    ASSISTED = "assisted"
    OMITTED = "omitted"
    NOT_SEEN = "not_seen"
    NOT_APPLICABLE = "not_applicable"


class Purpose(StrEnum):
    ASSESSMENT = "assessment"
    PRACTICE = "practice"


class Stopped(StrEnum):
    """For whose sake an attempt was stopped: the patient's condition, or an unsafe caregiver."""

    PATIENT = "patient"
    CAREGIVER = "caregiver"


class Take(StrEnum):
    LEAD = "lead"
    SECOND = "second"


@dataclass(frozen=True, slots=True)
class Seen:
    """One step's result; value in the unit of the step's measure."""

    result: str
    value: float | None = None


Results = Mapping[str, Seen]


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondObserver:
    observer: str
    results: Results


@dataclass(frozen=True, slots=True, kw_only=True)
class Demonstration:
    """One observed attempt. seconds: seconds since midnight. The lead observer is the first named."""

    id: str
    recorded_at: datetime
    on: date
    seconds: int
    skill: str
    edition: int
    purpose: str
    setting: str
    role: str
    mode: str
    place: str
    observers: tuple[str, ...]
    results: Results
    second: SecondObserver | None = None
    stopped: str | None = None
    began: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Certificate:
    """A card issued elsewhere, current from ``on`` through its own last day (None: no last day)."""

    id: str
    recorded_at: datetime
    on: date
    skill: str
    through: date | None
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Acceptance:
    """Another organisation's sign-off taken over after a check of one's own."""

    id: str
    recorded_at: datetime
    on: date
    skill: str
    last_day: date | None
    organisation: str
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    id: str
    recorded_at: datetime
    on: date
    skill: str
    by: str
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A pause, whole days from ``on`` through ``through``; skill None is all skills."""

    id: str
    recorded_at: datetime
    on: date
    skill: str | None
    through: date | None
    reason: str
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class RecheckCall:
    """Somebody asks to see a skill again; skill None is all skills."""

    id: str
    recorded_at: datetime
    on: date
    skill: str | None
    reason: str
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Withdrawal:
    id: str
    recorded_at: datetime
    on: date
    skill: str
    reason: str
    cover: str
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Resolution:
    """Which of two observers' outcomes stands."""

    id: str
    recorded_at: datetime
    record: str
    take: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A supervisor lets one pass count that gate, authorisation or edition had kept out."""

    id: str
    recorded_at: datetime
    record: str
    reason: str


Record = Demonstration | Certificate | Acceptance | Signature | Hold | RecheckCall | Withdrawal | Resolution | Override


@dataclass(frozen=True, slots=True, kw_only=True)
class CarePlanEntry:
    """All facts stated from this moment on; seconds -1 is from the start of the day."""

    id: str
    recorded_at: datetime
    on: date
    facts: Facts
    seconds: int = -1


@dataclass(frozen=True, slots=True, kw_only=True)
class Authorisation:
    """The prescriber's word for one skill, whole days from ``from_day`` through ``through``."""

    id: str
    recorded_at: datetime
    skill: str
    from_day: date
    through: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Qualification:
    """An observer may assess a skill (None: all) on these days."""

    id: str
    recorded_at: datetime
    observer: str
    skill: str | None
    from_day: date
    through: date | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemDone:
    id: str
    recorded_at: datetime
    item: str
    on: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Exemption:
    """A supervisor's dated exception from one missing code: team, item:CODE or fact:NAME."""

    id: str
    recorded_at: datetime
    missing: str
    from_day: date
    through: date
    by: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Void:
    id: str
    recorded_at: datetime
    record: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Caregiver:
    """One person in one family; from_day and through bound their part in sets and team."""

    id: str
    born: date | None
    is_patient: bool
    from_day: date | None
    through: date | None
    sets: tuple[str, ...]
    records: tuple[Record, ...]

    def is_here(self, day: date) -> bool:
        return (self.from_day is None or self.from_day <= day) and (self.through is None or day <= self.through)


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """Everything about one family, all of it ever recorded, and the question: on which day, as known when."""

    programme: Programme
    qualifications: tuple[Qualification, ...]
    care_plan: tuple[CarePlanEntry, ...]
    authorisations: tuple[Authorisation, ...]
    items: tuple[ItemDone, ...]
    exceptions: tuple[Exemption, ...]
    caregivers: tuple[Caregiver, ...]
    voids: tuple[Void, ...]
    on: date
    known_at: datetime | None = None


def in_force(from_day: date, through: date | None, day: date) -> bool:
    """Whether something in force for whole days holds on ``day``."""
    return from_day <= day and (through is None or day <= through)
