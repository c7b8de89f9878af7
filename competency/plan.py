"""What happens to a family as a whole: editions coming into force and care plan entries, in order (design 4.3)."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import NamedTuple, TypeVar

from competency.dates import edges
from competency.knowledge import Known
from competency.programme import Edition, Facts, Programme
from competency.records import in_force

Moment = tuple[date, int, int, str]
"""Where an event stands in time: day, seconds (-2 starts the day, -1 is an entry without a time), rank, id."""
START_OF_DAY = -2
V = TypeVar("V")


class Called(NamedTuple):
    """What the plan says of a skill from the end of a day on.

    required: the care plan calls for it; authorised: no word of the prescriber is wanting; edition: the one in force.
    """

    required: bool
    authorised: bool
    edition: Edition | None


@dataclass(frozen=True, slots=True)
class EditionStarts:
    """An edition comes into force. is_first: there is no older one."""

    moment: Moment
    edition: Edition
    skill: str
    is_first: bool
    is_required: bool


@dataclass(frozen=True, slots=True)
class PlanChanges:
    """A care plan entry takes effect.

    changed: facts whose last stated value was another; stated: every fact's last stated value from here on;
    required: by skill, whether the care plan calls for it; is_first: the first entry there is.
    """

    moment: Moment
    changed: Mapping[str, str]
    stated: Facts
    required: Mapping[str, bool]
    is_first: bool


class FamilyPlan:
    """The events of a family's plan and the day-by-day look-ups that follow from them."""

    def __init__(self, known: Known) -> None:
        self.programme: Programme = known.programme
        self.first_day = known.first_day
        self.events: list[EditionStarts | PlanChanges] = []
        self.required: dict[str, list[tuple[date, bool]]] = {code: [] for code in self.programme.skills}
        self.facts: list[tuple[date, Facts]] = [(e.on, e.facts) for e in known.care_plan]
        self._authorised: dict[str, list[tuple[date, date | None]]] = {code: [] for code in self.programme.skills}
        for word in known.authorisations:
            self._authorised[word.skill].append((word.from_day, word.through))
        self._called: dict[str, list[tuple[date, Called]]] = {}
        self._lay_out(known)

    def _lay_out(self, known: Known) -> None:
        moments: list[tuple[Moment, object, str]] = [
            ((edition.in_force_from, START_OF_DAY, 0, code), edition, code)
            for code, skill in self.programme.skills.items()
            for edition in skill.editions
        ]
        moments += [((entry.on, entry.seconds, 0, entry.id), entry, "") for entry in known.care_plan]
        moments.sort(key=lambda m: m[0])
        editions: dict[str, Edition] = {}
        facts: Facts = {}
        stated: dict[str, str] = {}
        seen_plan = False
        for moment, what, code in moments:
            if isinstance(what, Edition):
                is_first = code not in editions
                editions[code] = what
                required = what.applies_when.is_met(facts)
                self._note_required(code, moment[0], required)
                self.events.append(EditionStarts(moment, what, code, is_first, required))
                continue
            facts = what.facts  # type: ignore[attr-defined]
            changed = {f: v for f, v in facts.items() if f in stated and stated[f] != v}
            stated = {**stated, **facts}
            requirement = {c: e.applies_when.is_met(facts) for c, e in editions.items()}
            for c, required in requirement.items():
                self._note_required(c, moment[0], required)
            self.events.append(PlanChanges(moment, changed, stated, requirement, not seen_plan))
            seen_plan = True

    def _note_required(self, skill: str, day: date, required: bool) -> None:
        line = self.required[skill]
        if line and line[-1][0] == day:
            line.pop()
        if not line or line[-1][1] is not required:
            line.append((day, required))

    def facts_on(self, day: date) -> Facts:
        """The facts in force at the end of ``day``."""
        return look_up(self.facts, day) or {}

    def is_required(self, skill: str, day: date) -> bool:
        """Whether the care plan calls for the skill at the end of ``day``; never without an edition in force."""
        return bool(look_up(self.required[skill], day))

    def is_authorised(self, skill: str, day: date) -> bool:
        for start, through in self._authorised[skill]:
            if in_force(start, through, day):
                return True
        return False

    def called(self, skill: str) -> Sequence[tuple[date, Called]]:
        """What the plan says of the skill, by the day from which it may be so."""
        found = self._called.get(skill)
        if found is None:
            days = {day for day, _ in self.required[skill]} | set(edges(self._authorised[skill]))
            days |= {edition.in_force_from for edition in self.programme.skills[skill].editions}
            found = self._called[skill] = [(day, self._called_on(skill, day)) for day in sorted(days)]
        return found

    def _called_on(self, skill: str, day: date) -> Called:
        edition = self.programme.skills[skill].in_force(day)
        authorised = edition is None or not edition.needs_authorisation or self.is_authorised(skill, day)
        return Called(self.is_required(skill, day), authorised, edition)


def look_up(line: Sequence[tuple[date, V]], day: date) -> V | None:
    """The value of a dated line at the end of ``day``; None before its first day."""
    found = None
    for start, value in line:
        if start > day:
            break
        found = value
    return found
