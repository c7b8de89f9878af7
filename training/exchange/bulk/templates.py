"""A story's records as text to be filled in: dates moved once for each pattern, names and ids for each family."""

from __future__ import annotations

import re
import uuid
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any

from competency.chain import canonical
from training.exchange.bulk.stories import NAME, SITE
from training.exchange.demo.days import born, day_of
from training.exchange.demo.people import Home
from training.exchange.demo.story import Deed, Story
from training.people.models import Caregiver, Family
from training.standing.file import rules_of
from training.standing.signing import signed_by

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """A family still without its name and its caregivers' ids. lines: kind, instant, body. earlier: than the story."""

    earlier: timedelta = timedelta(0)
    patient_born: date
    opened_at: datetime
    people: tuple[Caregiver, ...]
    lines: tuple[tuple[str, datetime, str], ...]

    def moved(self, weeks: int) -> Pattern:
        """The same so many weeks earlier; whole weeks, so that the clock stays."""
        by = timedelta(weeks=weeks)
        return Pattern(
            earlier=by,
            patient_born=self.patient_born - by,
            opened_at=self.opened_at - by,
            people=self.people,
            lines=tuple((kind, at - by, _moved(body, by)) for kind, at, body in self.lines),
        )

    def born(self, person: Caregiver) -> date | None:
        return person.born - self.earlier if person.born else None


def _moved(body: str, by: timedelta) -> str:
    return _DAY.sub(lambda day: (date.fromisoformat(day[0]) - by).isoformat(), body)


def pattern(about: dict[str, Any], home: Home, today: date) -> Pattern:
    """Tell one story; nothing is stored."""
    zone = home.organisation.time_zone
    family = Family(public_id=uuid.uuid4(), organisation=home.organisation, name=NAME, time_zone=zone)
    people = [_caregiver(person, family, today) for person in about["caregivers"]]
    rules = rules_of(home.programme.pk, home.programme.version)
    story = Story(about, home, rules, family, {p.called: p for p in people}, today)
    opened = datetime.combine(day_of(about["opened"], today), time(7, 15), family.zone)
    patient_born = born(about["patient"]["age"], today)
    told = [_opening(about, home, patient_born, opened), *(_entering(p, home, opened) for p in people), *story.deeds()]
    return Pattern(
        patient_born=patient_born,
        opened_at=opened,
        people=tuple(people),
        lines=tuple((deed.kind, deed.at, _signed(deed, family)) for deed in told),
    )


def _caregiver(about: dict[str, Any], family: Family, today: date) -> Caregiver:
    return Caregiver(
        public_id=uuid.uuid4(),
        family=family,
        full_name=about["name"],
        called=about["called"],
        relation=about["relation"],
        born=born(about["age"], today),
        sets=about["sets"],
    )


def _opening(about: dict[str, Any], home: Home, patient_born: date, at: datetime) -> Deed:
    patient = {"name": about["patient"]["name"], "called": about["patient"]["called"], "born": patient_born.isoformat()}
    body = {"name": about["name"], "patient": patient, "zone": home.organisation.time_zone, "site": SITE}
    body["programme"] = str(home.programme.public_id)
    return Deed(at=at, kind="family", body=body, by=home.observer(0))


def _entering(person: Caregiver, home: Home, opened: datetime) -> Deed:
    assert person.born is not None
    body = {
        "id": person.case_id, "name": person.full_name, "called": person.called, "relation": person.relation,
        "born": person.born.isoformat(), "is_patient": False, "from": None, "through": None, "sets": person.sets,
    }  # fmt: skip
    return Deed(at=opened + timedelta(minutes=15), kind="caregiver", body=body, by=home.observer(0))


def _signed(deed: Deed, family: Family) -> str:
    signed = signed_by(deed.by, kind=deed.kind, at=deed.at, family=family, body=deed.body)
    return canonical({**deed.body, "signed": signed}).decode()


def patterns(abouts: Sequence[dict[str, Any]], home: Home, today: date, weeks: int) -> list[Pattern]:
    """Every story as it is, and one to so many weeks earlier."""
    whole = [pattern(about, home, today) for about in abouts]
    return [one.moved(week) if week else one for one in whole for week in range(weeks)]
