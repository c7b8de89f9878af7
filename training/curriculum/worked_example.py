"""A standard tried on an invented caregiver: invented attempts on real dates, worked out by the rules package."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import cycle, islice
from typing import Any

from competency.dates import Period
from competency.history import FamilyHistory
from competency.programme import Place
from competency.reading import read_case
from competency.standing import Line, Span, Standing

MOST_PASSES = 40
FILTERS = ("setting", "role", "mode", "place")
_USUAL = {"setting": "patient", "role": "lead", "mode": "in_person", "place": "hospital"}
_APART = timedelta(days=6)
_SIGNED = timedelta(days=2)  # after the pass that completes it
_PERSON, _SKILL = "invented", "skill"


@dataclass(frozen=True, slots=True, kw_only=True)
class Try:
    """One invented attempt. observer: counted from 1."""

    on: date
    passed: bool
    setting: str
    role: str
    mode: str
    place: str
    observer: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Story:
    """What was tried, and where the caregiver would stand. kind: "first", "again" or "failure"."""

    kind: str
    tries: tuple[Try, ...]
    spans: tuple[Span[Standing], ...]


class TooManyError(Exception):
    """The standard asks for more passes than an example can show."""


def stories(standard: Mapping[str, Any], start: date) -> list[Story]:
    """Up to three: the first sign-off, shown again in time, and an attempt that goes wrong on the way.

    Raises RefusedError where the rules refuse the standard, TooManyError where it asks for very many passes. Empty for
    a card issued elsewhere.
    """
    if standard.get("evidence") == "certificate":
        return []
    tries = _tries(standard["needs"], start)
    line, signed = _worked_out(standard, tries, start)
    done = _completed(line)
    if done is None:
        return [_story("first", tries, line)]
    tries = [t for t in tries if t.on <= done]
    told = [_story("first", tries, line)]
    told += _again(standard, tries, line, signed, start)
    wrong = [*tries[:-1], _failed(tries[-1]), *_shifted(tries)]
    after, _signed = _worked_out(standard, wrong, start)
    completed = _completed(after) or wrong[-1].on
    return [*told, _story("failure", [t for t in wrong if t.on <= completed], after)]


def _again(
    standard: Mapping[str, Any], tries: list[Try], line: Line[Standing], signed: date | None, start: date
) -> list[Story]:
    """Shown again shortly before the last day; nothing for what does not lapse."""
    last = next((s.through for s in line if s.value is Standing.SIGNED_OFF), None)
    if last is None:
        return []
    inherited = {key: standard["needs"][0][key] for key in FILTERS if standard["needs"][0].get(key)}
    needs = [{**inherited, **need} for need in standard.get("renewal") or [{"passes": 1}]]
    more = _tries(needs, start)
    length = more[-1].on - more[0].on
    begin = max(last - length - timedelta(days=7), (signed or tries[-1].on) + timedelta(days=1))
    renewed = [_on(t, t.on + (begin - more[0].on)) for t in more]
    return [_story("again", renewed, _worked_out(standard, [*tries, *renewed], start, signed)[0])]


def _story(kind: str, tries: Sequence[Try], line: Line[Standing]) -> Story:
    return Story(kind=kind, tries=tuple(tries), spans=tuple(s for s in line if s.value is not Standing.NOT_STARTED))


# Inventing attempts ---------------------------------------------------------------------------------------


def _tries(needs: Sequence[Mapping[str, Any]], start: date) -> list[Try]:
    """Attempts that would meet each need in turn, close enough together for its window."""
    found: list[Try] = []
    day = start
    for need in needs:
        count = max(need.get(key, 1) for key in ("passes", "days", "observers", "places"))
        if len(found) + count > MOST_PASSES:
            raise TooManyError
        for one in _of_need(need, count, day):
            found.append(one)
        day = found[-1].on + _APART
    return found


def _of_need(need: Mapping[str, Any], count: int, day: date) -> Iterator[Try]:
    apart = _APART
    if need.get("within") and count > 1:
        window = Period.parse(need["within"]).after(day) - day
        apart = min(apart, timedelta(days=window.days // (count - 1)))
    fixed = {key: (need.get(key) or [_USUAL[key]])[0] for key in ("setting", "role", "mode")}
    places = need.get("place") or ([p.value for p in Place] if need.get("places", 1) > 1 else [_USUAL["place"]])
    observers = cycle(range(1, need.get("observers", 1) + 1))
    for n, (place, observer) in enumerate(zip(islice(cycle(places), count), observers, strict=False)):
        yield Try(on=day + n * apart, passed=True, place=place, observer=observer, **fixed)


def _on(one: Try, day: date) -> Try:
    return Try(**{**_fields(one), "on": day})


def _failed(one: Try) -> Try:
    return Try(**{**_fields(one), "passed": False})


def _shifted(tries: Sequence[Try]) -> list[Try]:
    """The same attempts once more, after the last of them."""
    shift = tries[-1].on - tries[0].on + _APART
    return [_on(t, t.on + shift) for t in tries]


def _fields(one: Try) -> dict[str, Any]:
    return {name: getattr(one, name) for name in ("on", "passed", *FILTERS, "observer")}


# Asking the rules -----------------------------------------------------------------------------------------


def _worked_out(
    standard: Mapping[str, Any], tries: Sequence[Try], start: date, signed: date | None = None
) -> tuple[Line[Standing], date | None]:
    """The line of standings, and the day of the signatures where there are any."""
    line = _line(standard, tries, start, signed)
    waits = next((s.start for s in line if s.value is Standing.AWAITING), None)
    if signed is None and waits is not None:
        signed = waits + _SIGNED
        line = _line(standard, tries, start, signed)
    return line, signed


def _completed(line: Line[Standing]) -> date | None:
    return next((s.start for s in line if s.value in (Standing.AWAITING, Standing.SIGNED_OFF)), None)


def _line(standard: Mapping[str, Any], tries: Sequence[Try], start: date, signed: date | None) -> Line[Standing]:
    first, early = start - timedelta(days=1), f"{start - timedelta(days=9)}T09:00:00Z"
    edition = {
        "edition": 1,
        "in_force_from": first.isoformat(),
        "recorded_at": early,
        "standard": dict(standard),
        "steps": [{"code": "a", "critical": True}],
    }
    records = [_record(n, one) for n, one in enumerate(tries)]
    if signed is not None:
        records += [_signature(signed, who) for who in standard.get("signatures", ())]
    observers = sorted({one.observer for one in tries})
    case = {
        "programme": {"code": "p", "skills": [{"code": _SKILL, "editions": [edition]}], "rules": []},
        "qualifications": [
            {"id": f"q{n}", "observer": f"o{n}", "skill": None, "from": first.isoformat(), "recorded_at": early}
            for n in observers
        ],
        "care_plan": [{"id": "p", "on": first.isoformat(), "facts": {}, "recorded_at": f"{first}T00:00:00Z"}],
        "caregivers": [{"id": _PERSON, "sets": [], "records": records}],
        "on": first.isoformat(),
    }
    return FamilyHistory(read_case(case)).line(_PERSON, _SKILL)


def _record(number: int, one: Try) -> dict[str, Any]:
    return {
        "kind": "demonstration",
        "id": f"d{number}",
        "purpose": "assessment",
        "on": one.on.isoformat(),
        "time": f"{9 + number // 4 % 12:02}:{number % 4 * 15:02}",
        "skill": _SKILL,
        "edition": 1,
        **{key: getattr(one, key) for key in FILTERS},
        "observers": [f"o{one.observer}"],
        "results": {"a": "independent" if one.passed else "prompted"},
        "recorded_at": f"{one.on}T23:00:00Z",
    }


def _signature(day: date, who: str) -> dict[str, Any]:
    return {
        "kind": "signature",
        "id": f"s-{who}",
        "on": day.isoformat(),
        "skill": _SKILL,
        "by": who,
        "recorded_at": f"{day}T23:00:00Z",
    }
