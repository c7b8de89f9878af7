"""What a family's line on the board says, through time: worked out by `competency`, ready to be stored."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from itertools import pairwise
from typing import Any

from competency.dates import LAST, edges
from competency.history import FamilyHistory
from competency.overview import Glance, glances
from competency.readiness import TEAM, Missing, Verdict
from competency.standing import Line, Standing
from training.people.models import Caregiver
from training.people.reminding import is_watched
from training.records.models import Record
from training.standing.days_tree import fork
from training.standing.file import FamilyFile
from training.standing.folding import folded
from training.standing.models import BoardSpan, Trouble
from training.standing.pausing import pauses_of
from training.standing.questions import FamilyOn

SOON = timedelta(days=30)
SPAN = (
    "organisation_id", "first_day", "last_day", "node", "rank", "sort_day", "name_key", "verdict", "missing",
    "missing_count", "falls_on", "falls_missing", "team", "places", "filled", "ready", "single", "changed", "paused",
)  # fmt: skip
NAME_KEY = BoardSpan._meta.get_field("name_key").max_length
Row = tuple[Any, ...]
_NO_TEAM = ("", 0, 0, (), False, False)


def board_spans(file: FamilyFile, caregivers: Iterable[Caregiver], history: FamilyHistory) -> list[Row]:
    """The rows of BoardSpan, each with the values of SPAN. They touch, and leave no day out."""
    said = _Said(file, list(caregivers), history)
    points = Line((day, said.on(day)) for day in said.days())
    organisation, key = file.family.organisation_id, folded(file.family.name)[:NAME_KEY]
    rows = []
    for span in points:
        last = span.through or LAST
        rank, sort_day, *rest = span.value
        rows.append((organisation, span.start, last, fork(span.start, last), rank, sort_day, key, *rest))
    return rows


class _Said:
    """What the board says of one family on a day: everything of SPAN from the rank on, but for the name."""

    def __init__(self, file: FamilyFile, caregivers: list[Caregiver], history: FamilyHistory) -> None:
        self.file, self.family, self.history = file, file.family, history
        self.caregivers = caregivers
        self.glances = glances(history)
        self.holds = [r for r in file.records if r.kind in ("hold", "void")]
        self.falls = _falls(history.readiness.line)

    def days(self) -> list[date]:
        """Every day from which on it may be another."""
        found = {date.min, *self.glances.starts, *self.history.readiness.days}
        found.update(d for d in (self.family.closed_on, self.family.handed_over_on) if d is not None)
        found.update(edges(_pause_days(self.holds)))
        if self.holds:
            found.update(edges([(date.min, c.through) for c in self.caregivers]))
        found.update(max(falls - SOON, start) for start, falls in self.falls if (falls - date.min) > SOON)
        return sorted(found)

    def on(self, day: date) -> Row:
        if not is_watched(self.family, day):
            away = Trouble.CLOSED if self.family.is_closed_on(day) else Trouble.HANDED_OVER
            return (int(away), LAST, "", (), 0, None, (), *_NO_TEAM, ())
        glance = self.glances.on(day)
        picture = self._picture(day)
        paused = self._paused(day)
        if glance is None:
            return (int(Trouble.TEAM), LAST, "", (), 0, None, (), *_NO_TEAM, paused)
        falls = next((falls for start, falls in self.falls if start <= day < falls), None)
        is_near = falls is not None and falls - day <= SOON
        return (
            int(_rank(glance, is_near=is_near, is_paused=bool(paused))),
            falls if is_near else LAST,
            glance.verdict.value,
            tuple(_missing(picture, m) for m in glance.missing),
            len(glance.missing),
            falls,
            self._missing_on(falls) if falls else (),
            glance.way,
            glance.places,
            glance.filled,
            glance.ready,
            glance.single,
            glance.changed,
            paused,
        )

    def _missing_on(self, falls: date) -> tuple[Row, ...]:
        picture = self._picture(falls)
        return tuple(_missing(picture, m) for m in self.history.readiness.missing(falls))

    def _paused(self, day: date) -> tuple[str, ...]:
        """Who has put themself on pause and is in the family on the day."""
        here = {c.case_id for c in self.caregivers if c.through is None or day <= c.through}
        return tuple(p.caregiver for p in pauses_of(self.holds, day) if p.caregiver in here) if self.holds else ()

    def _picture(self, day: date) -> FamilyOn:
        picture = FamilyOn(self.file, day)
        picture.history = self.history
        return picture


def _missing(picture: FamilyOn, missing: Missing) -> Row:
    exception = picture.exception(missing.code) if missing.excepted else None
    since = None
    if missing.code.startswith("item:"):
        item = next(i for i in picture.items if f"item:{i.code}" == missing.code)
        since = (item.through + timedelta(days=1)).isoformat() if item.through else None
    return missing.code, since, _excepted(exception) if exception else None


def _excepted(record: Record) -> Row:
    body = record.data
    return body["signed"]["name"], body["through"], body["reason"]


def _falls(line: Line[Verdict]) -> list[tuple[date, date]]:
    """Since when the family is ready, and from when on it is not, as far as that is known."""
    return [(one.start, other.start) for one, other in pairwise(line) if one.value is Verdict.READY]


def _pause_days(holds: Iterable[Record]) -> Iterator[tuple[date, date | None]]:
    for record in holds:
        if record.kind == "hold":
            through = record.data["through"]
            yield date.fromisoformat(record.data["on"]), date.fromisoformat(through) if through else None


def _rank(glance: Glance, *, is_near: bool, is_paused: bool) -> Trouble:
    if glance.verdict is Verdict.NOT_READY:
        lacks_team = any(m.code == TEAM and not m.excepted for m in glance.missing)
        return Trouble.TEAM if lacks_team else Trouble.OTHER
    if glance.verdict is Verdict.READY_BY_EXCEPTION:
        return Trouble.EXCEPTION
    if is_paused:
        return Trouble.PAUSE
    return Trouble.FALLING if is_near else Trouble.NONE


# Lapses -------------------------------------------------------------------------------------------------------

LAPSE = ("organisation_id", "day", "number", "takes_down", "caregiver_id", "skill")


def lapse_days(
    file: FamilyFile, caregivers: Iterable[Caregiver], history: FamilyHistory, standings: Iterable[Row]
) -> list[Row]:
    """The rows of LapseDay. standings: caregiver's key, skill, standing, first day, as they are stored."""
    through = {c.pk: c.through for c in caregivers}
    down = {s.start for s in history.readiness.line if s.value is Verdict.NOT_READY}
    found: dict[date, list[tuple[int, str]]] = {}
    for caregiver, skill, standing, day, *_ in standings:
        last = through[caregiver]
        if standing == Standing.LAPSED and (last is None or day <= last) and is_watched(file.family, day):
            found.setdefault(day, []).append((caregiver, skill))
    organisation = file.family.organisation_id
    return [(organisation, day, len(who), day in down, *min(who)) for day, who in found.items()]
