"""One invented family's YAML as the records that tell it, oldest first. fixtures/demo/README.md has the keys."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from competency.programme import Edition, FactValue, Programme, fact_key
from training.exchange.demo.attempts import Way, results, way_of_renewal, ways
from training.exchange.demo.days import day_of, spread
from training.exchange.demo.people import Home, intent
from training.people.models import Caregiver, Family, Member

PLAN_AT, YES_AT, SHOWN_AT, CARD_AT, ITEM_AT, SIGNED_AT, REST_AT = (time(h) for h in (8, 9, 10, 14, 15, 16, 17))
BETWEEN = timedelta(minutes=15)  # from one demonstration of a day to the next
WRITTEN = timedelta(minutes=12)  # from the start of a demonstration to its record
TRIED = {"equipment_trial": {"hours": 30}}  # the machines for home
DECIDED = frozenset({"exception", "hold", "override", "recheck", "resolution", "void", "withdrawal"})
RANGED = frozenset({"authorisation", "exception"})  # dated by from and through
UNDATED = frozenset({"override", "resolution", "void"})  # they act on the day of what they name
DAY_KEYS = frozenset({"from", "through", "last_day"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """One record to write."""

    at: datetime
    kind: str
    body: dict[str, Any]
    by: Member | Caregiver
    label: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One demonstration to write; changes: what its line in the file says differently."""

    caregiver: Caregiver
    skill: str
    day: date
    way: Way
    changes: Mapping[str, Any] = field(default_factory=dict)


class Story:
    """about: the family's file. caregivers: those the file names, by what they are called."""

    def __init__(
        self,
        about: Mapping[str, Any],
        home: Home,
        rules: Programme,
        family: Family,
        caregivers: Mapping[str, Caregiver],
        today: date,
    ) -> None:
        self.about = about
        self.home = home
        self.rules = rules
        self.family = family
        self.caregivers = caregivers
        self.today = today
        self.opened = day_of(about["opened"], today)
        self.plans = sorted((self.day(p["day"]), numbers(p["facts"])) for p in about.get("plan", []))

    def day(self, distance: int | str) -> date:
        return day_of(distance, self.today)

    def at(self, day: date, clock: time) -> datetime:
        """That moment where the patient is; what is older than the file was entered when it was opened."""
        if day < self.opened:
            day, clock = self.opened, CARD_AT
        return datetime.combine(day, clock, self.family.zone)

    def deeds(self) -> list[Deed]:
        """Everything but the opening, oldest first."""
        found = [*self._plan(), *self._items(), *self._others(self.about, None), *self._demonstrations()]
        for person, caregiver in self._people():
            found += [*self._cards(person, caregiver), *self._signatures(person, caregiver)]
            found += self._others(person, caregiver)
        return sorted(found, key=lambda deed: deed.at)

    def _people(self) -> Iterator[tuple[Mapping[str, Any], Caregiver]]:
        for person in self.about["caregivers"]:
            yield person, self.caregivers[person["called"]]

    def facts_on(self, day: date) -> Mapping[str, FactValue]:
        return next((facts for on, facts in reversed(self.plans) if on <= day), {})

    def edition(self, skill: str, day: date) -> Edition:
        edition = self.rules.skills[skill].in_force(day)
        assert edition is not None, f"no edition of {skill} on {day}"
        return edition

    # The patient ------------------------------------------------------------------------------------------

    def _plan(self) -> Iterator[Deed]:
        by = self.home.observer(0)
        for day, facts in self.plans:
            body = {"on": day.isoformat(), "time": None, "facts": dict(facts)}
            yield Deed(at=self.at(day, PLAN_AT), kind="care_plan", body=body, by=by)
        if not self.plans:
            return
        without = self.about.get("not_authorised", [])
        day = self.plans[0][0]
        for skill in self.rules.skills:
            if self.edition(skill, day).needs_authorisation and skill not in without and self._is_asked(skill, day):
                body = {"skill": skill, "from": day.isoformat(), "through": None, **self._prescriber()}
                yield Deed(at=self.at(day, YES_AT), kind="authorisation", body=body, by=by)

    def _prescriber(self) -> dict[str, str]:
        return {"prescriber": self.about.get("prescriber", self.home.about["prescriber"])}

    def _is_asked(self, skill: str, day: date) -> bool:
        """Whether the care plan of that day calls for the skill."""
        keys = {name: fact_key(value) for name, value in self.facts_on(day).items()}
        return self.edition(skill, day).applies_when.is_met(keys)

    def _items(self) -> Iterator[Deed]:
        for item, distances in self.about.get("items", {}).items():
            for distance in distances if isinstance(distances, list) else [distances]:
                day = self.day(distance)
                body = {"item": item, "on": day.isoformat(), **TRIED.get(item, {})}
                yield Deed(at=self.at(day, ITEM_AT), kind="item", body=body, by=self.home.observer(0))

    # What was shown ---------------------------------------------------------------------------------------

    def _shown(self, person: Mapping[str, Any], caregiver: Caregiver) -> Iterator[Shown]:
        for skill, days in self._passes(person).items():
            place = self.home.about["place"]
            for i, day in enumerate(days):
                standard = self.edition(skill, day).standard
                first = ways(standard, place)
                way = first[i] if i < len(first) else way_of_renewal(standard, place)
                yield Shown(caregiver=caregiver, skill=skill, day=day, way=way)
        for line in person.get("shows", []):
            day = self.day(line["day"])
            way = ways(self.edition(line["skill"], day).standard, self.home.about["place"])[-1]
            yield Shown(caregiver=caregiver, skill=line["skill"], day=day, way=way, changes=line)

    def _passes(self, person: Mapping[str, Any]) -> dict[str, list[date]]:
        """The days of each skill's plain passes: those of the course, then those listed."""
        found: dict[str, list[date]] = {}
        if "course" in person:
            for skill, day in self._course(person["course"], person["sets"]):
                found.setdefault(skill, []).append(day)
        for skill, distances in person.get("passes", {}).items():
            found.setdefault(skill, []).extend(self.day(d) for d in distances)
        return {skill: sorted(days) for skill, days in found.items()}

    def _course(self, course: Mapping[str, Any], sets: Iterable[str]) -> Iterator[tuple[str, date]]:
        """Everything the sets ask for, in the programme's order, evenly from the first day to the last."""
        first, last = self.day(course["from"]), self.day(course["to"])
        rules = self.rules.rules_on(last)
        assert rules is not None
        asked = {skill for name in sets for skill in rules.sets[name]}
        without, long = course.get("without", {}), self.home.about["over_days"]
        slots: list[str] = []
        for skill in self.rules.skills:
            if skill in asked and self._is_asked(skill, last):
                count = len(ways(self.edition(skill, last).standard, "")) - without.get(skill, 0)
                slots += [skill] * count
        ends = [skill for skill in slots if skill in long]
        short = [skill for skill in slots if skill not in long]
        yield from zip(short, spread(len(short), first, last - timedelta(days=3 if ends else 0)), strict=True)
        yield from ((skill, last) for skill in ends)

    def _demonstrations(self) -> Iterator[Deed]:
        order = list(self.rules.skills)
        shown = [s for person, caregiver in self._people() for s in self._shown(person, caregiver)]
        shown.sort(key=lambda s: (s.day, order.index(s.skill)))
        turn: dict[date, int] = {}
        for number, one in enumerate(shown):
            place = turn[one.day] = turn.get(one.day, -1) + 1
            began = datetime.combine(one.day, SHOWN_AT, self.family.zone) + place * BETWEEN
            yield self._demonstration(one, began, self.home.observer(number // 3))

    def _demonstration(self, shown: Shown, began: datetime, usual: Member) -> Deed:
        line = shown.changes
        began = _clock(began, line.get("time"))
        observer = self.home.members[line["observer"]] if "observer" in line else usual
        edition = self.edition(shown.skill, shown.day)
        way = {**shown.way.as_body(), **{k: line[k] for k in ("setting", "role", "mode", "place") if k in line}}
        facts = self.facts_on(shown.day)

        def seen(changed: Mapping[str, Any]) -> dict[str, Any]:
            return results(edition, way["role"], facts, changed, line.get("stopped", {}).get("at"))

        second = line.get("second")
        long = shown.skill in self.home.about["over_days"]
        body = {
            "caregiver": shown.caregiver.case_id,
            "purpose": line.get("purpose", "assessment"),
            "on": shown.day.isoformat(),
            "time": f"{began:%H:%M}",
            "skill": shown.skill,
            "edition": edition.number,
            **way,
            "observers": [observer.observer_id],
            "results": seen(line.get("results", {})),
            "second": self._second(second, seen) if second else None,
            "stopped": line.get("stopped", {}).get("for"),
            "began": (shown.day - timedelta(days=1)).isoformat() if long else None,
            **({"reteach": {"line": line["reteach"], "on": None}} if "reteach" in line else {}),
        }
        at = began + WRITTEN + timedelta(days=line.get("late", 0))
        return Deed(at=at, kind="demonstration", body=body, by=observer, label=line.get("label", ""))

    def _second(self, second: Mapping[str, Any], seen: Callable[[Mapping[str, Any]], dict[str, Any]]) -> dict[str, Any]:
        observer = self.home.members[second["observer"]]
        return {"observer": observer.observer_id, "results": seen(second.get("results", {}))}

    # Cards, signatures, and the rest ----------------------------------------------------------------------

    def _cards(self, person: Mapping[str, Any], caregiver: Caregiver) -> Iterator[Deed]:
        for skill, (first, last) in person.get("cards", {}).items():
            day = self.day(first)
            body = {"skill": skill, "on": day.isoformat(), "through": self.day(last).isoformat()}
            body["caregiver"] = caregiver.case_id
            yield Deed(at=self.at(day, CARD_AT), kind="certificate", body=body, by=self.home.observer(0))

    def _signatures(self, person: Mapping[str, Any], caregiver: Caregiver) -> Iterator[Deed]:
        """Both signatures on the day of the pass that completes, but for those the file leaves out."""
        unsigned = person.get("unsigned", {})
        for skill, days in self._passes(person).items():
            standard = self.edition(skill, days[-1]).standard
            needed = len(ways(standard, ""))
            if len(days) < needed:
                continue
            for by in sorted(standard.signatures - set(unsigned.get(skill, []))):
                day = days[needed - 1]
                body = {"caregiver": caregiver.case_id, "skill": skill, "on": day.isoformat(), "by": by}
                signer = caregiver if by == "caregiver" else self.home.observer(0)
                yield Deed(at=self.at(day, SIGNED_AT), kind="signature", body=body, by=signer)

    def _others(self, part: Mapping[str, Any], caregiver: Caregiver | None) -> Iterator[Deed]:
        """The lines under ``events``: any other kind of record, its keys those of its body."""
        for line in part.get("events", []):
            kind, day = line["kind"], self.day(line["day"])
            body = {k: v for k, v in line.items() if k not in ("kind", "day", "by", "label")}
            body |= {k: self.day(body[k]).isoformat() for k in DAY_KEYS & body.keys()}
            if kind in RANGED:
                body.setdefault("from", day.isoformat())
            elif kind not in UNDATED:
                body["on"] = day.isoformat()
            if kind == "authorisation":
                body = {"through": None, **self._prescriber(), **body}
            if "record" in line:
                body["record"] = str(intent(self.family.public_id, line["record"]))
            if caregiver is not None and kind != "void":
                body["caregiver"] = caregiver.case_id
            by = self._signer(line.get("by"), kind, caregiver)
            if kind == "exception":
                body["by"] = str(by.public_id)
            yield Deed(at=_clock(self.at(day, REST_AT), line.get("time")), kind=kind, body=body, by=by)

    def _signer(self, name: str | None, kind: str, caregiver: Caregiver | None) -> Member | Caregiver:
        if name == "self" and caregiver is not None:
            return caregiver
        if name is not None:
            return self.home.members[name]
        return self.home.supervisor if kind in DECIDED else self.home.observer(0)


def numbers(facts: Mapping[str, Any]) -> dict[str, Any]:
    """Records hold decimals, never floats."""
    return {name: Decimal(str(value)) if isinstance(value, float) else value for name, value in facts.items()}


def _clock(moment: datetime, clock: str | None) -> datetime:
    return datetime.combine(moment.date(), time.fromisoformat(clock), moment.tzinfo) if clock else moment
