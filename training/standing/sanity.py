"""What the records outside the rules are judged with before they are written: who, when, about what."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from competency.fields import Problem
from training.records.models import Record
from training.standing.file import FamilyFile


def moment(body: Mapping[str, Any], zone: ZoneInfo, day: str = "on", clock: str = "time") -> datetime | None:
    """The instant, in UTC, of a day and a time where the patient is; None where they cannot be read.

    In UTC because two local times are subtracted by the clock on the wall, which is wrong across a change of it.
    """
    try:
        local = datetime.combine(date.fromisoformat(body[day]), time.fromisoformat(body[clock]), zone)
    except (KeyError, TypeError, ValueError):
        return None
    return local.astimezone(UTC)


def voided_in(records: Iterable[Record]) -> frozenset[str]:
    """The ids of the voided records."""
    return frozenset(r.data["record"] for r in records if r.kind == "void")


class Asked:
    """One such record before it is written: the file without it, its body with the signature, and the instant."""

    def __init__(self, file: FamilyFile, body: Mapping[str, Any], at: datetime) -> None:
        self.file = file
        self.body = body
        self.at = at
        self.zone = file.family.zone
        self.today = file.family.today(at)
        self.people = {c.case_id for c in file.caregivers}

    def moment(self, day: str = "on", clock: str = "time") -> datetime | None:
        return moment(self.body, self.zone, day, clock)

    def day(self, key: str) -> date | None:
        """A day of the body; None where it cannot be read."""
        try:
            return date.fromisoformat(self.body[key])
        except (KeyError, TypeError, ValueError):
            return None

    def about(self, kind: str, part: str) -> Record | None:
        """The record of this kind and part that the body names."""
        found = self.file.record(str(self.body.get("record")))
        return found if found is not None and (found.kind, found.data.get("part")) == (kind, part) else None

    def has_part(self, parts: Collection[str]) -> bool:
        return self.body.get("part") in parts

    def words(self, *keys: str) -> Iterator[Problem]:
        """A problem for each of these keys that holds no words."""
        for key in keys:
            value = self.body.get(key)
            if not isinstance(value, str) or not value.strip():
                yield Problem(key, "has to be said")

    def who(self, key: str = "who", *, needed: bool = True) -> Iterator[Problem]:
        """A list of caregivers of this family, each once."""
        named = self.body.get(key, [])
        if not isinstance(named, list) or (needed and not named):
            yield Problem(key, "has to name a caregiver")
        elif not self.people.issuperset(named) or len(set(named)) < len(named):
            yield Problem(key, "names somebody who is no caregiver of this family, or somebody twice")

    def caregiver(self) -> Iterator[Problem]:
        if self.body.get("caregiver") not in self.people:
            yield Problem("caregiver", "is no caregiver of this family")

    def skill(self) -> Iterator[Problem]:
        code = self.body.get("skill")
        if code is not None and code not in self.file.rules.skills:
            yield Problem("skill", "is no skill of this programme")
