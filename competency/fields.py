"""Reading untrusted JSON: every problem is kept with the path of the offending value, none is guessed around."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import lru_cache
from typing import Any, TypeVar

from competency.dates import BadPeriodError, Period

T = TypeVar("T")

_DATE = re.compile(r"\d{4}-\d{2}-\d{2}", re.ASCII)
_TIME = re.compile(r"([01]\d|2[0-3]):([0-5]\d)(?::([0-5]\d))?", re.ASCII)
_INSTANT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}(?::\d{2}(?:\.\d{1,6})?)?(?:Z|[+-]\d{2}:\d{2})", re.ASCII)
_MISSING: Any = object()


@dataclass(frozen=True, slots=True)
class Problem:
    """What is wrong, and where: a path such as ``caregivers[0].records[2].edition``."""

    path: str
    message: str

    def __str__(self) -> str:
        return f"{self.path}: {self.message}"


class RefusedError(ValueError):
    """A case that contradicts itself or cannot be read. Carries every problem found."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(p) for p in self.problems))


class Fields:
    """One JSON object being read: each key is asked for once, and what nobody asked for is refused.

    Every reader returns None where the value is wrong, and keeps the problem; whoever builds a value from the
    fields looks at `is_sound` first.
    """

    def __init__(self, data: Any, path: str, problems: list[Problem]) -> None:
        self.path = path
        self.problems = problems
        self._before = len(problems)
        self._asked: set[str] = set()
        self._data: dict[str, Any] = {}
        if isinstance(data, dict):
            self._data = data
        else:
            self.refuse("", "is not an object")

    # Housekeeping -----------------------------------------------------------------------------------------

    def refuse(self, key: str, message: str) -> None:
        path = f"{self.path}.{key}" if self.path and key else (key or self.path or "$")
        self.problems.append(Problem(path, message))

    @property
    def is_sound(self) -> bool:
        return len(self.problems) == self._before

    def done(self) -> bool:
        """Refuse the keys nobody asked for; True when everything read was sound."""
        for key in self._data:
            if key not in self._asked:
                self.refuse(str(key), "is not a key that is known here")
        return self.is_sound

    def has(self, key: str) -> bool:
        return self._data.get(key) is not None

    def has_key(self, key: str) -> bool:
        return key in self._data

    def at(self, key: str) -> str:
        return f"{self.path}.{key}" if self.path else key

    def _take(self, key: str, *, default: Any = _MISSING) -> Any:
        self._asked.add(key)
        if key in self._data:
            return self._data[key]
        if default is _MISSING:
            self.refuse(key, "is missing")
        return default

    def _read(self, key: str, kind: str, convert: Callable[[Any], Any], *, required: bool) -> Any:
        value = self._take(key, default=_MISSING if required else None)
        if value is _MISSING or (value is None and not required):
            return None
        try:
            return convert(value)
        except (BadPeriodError, TypeError, ValueError):
            self.refuse(key, f"is {shown(value)}, not {kind}")
            return None

    # Readers ----------------------------------------------------------------------------------------------

    def text(self, key: str, *, required: bool = True) -> Any:
        return self._read(key, "a text of at least one character", as_text, required=required)

    def choice(self, key: str, choices: Collection[str], *, default: str | None = None) -> Any:
        allowed = (
            tuple(choices) if isinstance(choices, type) else choices
        )  # no text may be looked for in an enum itself
        value = self._data.get(key)
        if isinstance(value, str) and value in allowed:
            self._asked.add(key)
            return value

        def convert(value: Any) -> str:
            raise ValueError  # a text that is one of them was taken above

        found = self._read(key, f"one of {', '.join(allowed)}", convert, required=default is None)
        return default if found is None and not self.has(key) else found

    def choice_or_none(self, key: str, choices: Collection[str]) -> Any:
        return self.choice(key, choices) if self.has(key) else self.raw(key, required=False)

    def choices(self, key: str, choices: Iterable[str]) -> frozenset[str] | None:
        """A list of one or more of these words; None where the key is absent."""
        allowed = tuple(choices)

        def convert(value: Any) -> frozenset[str]:
            if not isinstance(value, list) or not value or any(v not in allowed for v in value):
                raise ValueError
            return frozenset(value)

        found: frozenset[str] | None = self._read(key, f"a list of {', '.join(allowed)}", convert, required=False)
        return found

    def day(self, key: str, *, required: bool = True) -> Any:
        return self._read(key, "a date such as 2025-02-03", as_date, required=required)

    def instant(self, key: str, *, required: bool = True) -> Any:
        return self._read(key, "an instant with an offset such as 2025-02-03T10:20:00Z", as_instant, required=required)

    def seconds(self, key: str, *, required: bool = True) -> Any:
        """A time of day as seconds since midnight; -1 where there is none."""
        found = self._read(key, "a time such as 10:00", as_seconds, required=required)
        return -1 if found is None else found

    def flag(self, key: str, *, default: bool | None = None) -> Any:
        def convert(value: Any) -> bool:
            if not isinstance(value, bool):
                raise TypeError
            return value

        found = self._read(key, "true or false", convert, required=default is None)
        return default if found is None else found

    def whole(self, key: str, low: int, high: int, *, default: int | None = None, required: bool = True) -> Any:
        def convert(value: Any) -> int:
            if isinstance(value, bool) or not isinstance(value, int) or not low <= value <= high:
                raise ValueError
            return value

        kind = f"a whole number from {low} to {high}"
        found = self._read(key, kind, convert, required=required and default is None)
        return default if found is None else found

    def number(self, key: str, *, required: bool = False) -> Any:
        return self._read(key, "a number", as_number, required=required)

    def period(self, key: str, *, zero: bool = False) -> Any:
        def convert(value: Any) -> Period:
            period = Period.parse(as_text(value))
            if period.is_zero and not zero:
                raise ValueError
            return period

        return self._read(key, "a period above zero such as P30D, P3M or P1Y", convert, required=False)

    def items(self, key: str, *, required: bool = True) -> list[tuple[str, Any]]:
        """A list as (path, item) pairs; empty where it is absent and may be."""
        value = self._take(key, default=_MISSING if required else [])
        if value is _MISSING:
            return []
        if not isinstance(value, list):
            self.refuse(key, f"is {shown(value)}, not a list")
            return []
        return [(f"{self.at(key)}[{i}]", item) for i, item in enumerate(value)]

    def pairs(self, key: str, *, required: bool = True) -> list[tuple[str, str, Any]]:
        """An object as (path, name, value) triples; empty where it is absent and may be."""
        found = self.mapping(key, required=required)
        return [(f"{self.at(key)}.{name}", name, item) for name, item in found.items()]

    def mapping(self, key: str, *, required: bool = True) -> dict[str, Any]:
        """An object as it is, its values not looked at; empty where it is absent and may be."""
        value = self._take(key, default=_MISSING if required else {})
        if value is _MISSING:
            return {}
        if not isinstance(value, dict):
            self.refuse(key, f"is {shown(value)}, not an object")
            return {}
        return value

    def raw(self, key: str, *, required: bool = True) -> Any:
        value = self._take(key, default=_MISSING if required else None)
        return None if value is _MISSING else value

    def part(self, key: str) -> Fields:
        """The object under ``key``, to be read with the same list of problems."""
        return Fields(self._take(key, default={}), self.at(key), self.problems)


def shown(value: Any) -> str:
    """A value in an error message: short, and of one line."""
    text = repr(value) if not isinstance(value, str) else f'"{value}"'
    text = " ".join(text.split())
    return text if len(text) <= 60 else text[:57] + "..."


def as_text(value: Any) -> str:
    if not isinstance(value, str) or not value:
        raise TypeError
    return value


def as_number(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError
    try:
        if math.isfinite(value):
            return value
    except OverflowError:
        pass
    raise TypeError


def as_date(value: Any) -> date:
    if not isinstance(value, str):
        raise TypeError
    return _date_of(value)


@lru_cache(maxsize=4096)
def _date_of(value: str) -> date:
    if not _DATE.fullmatch(value):
        raise ValueError
    found = date.fromisoformat(value)
    if found.year < 1900:
        raise ValueError
    return found


def as_instant(value: Any) -> datetime:
    """An instant in UTC, to the microsecond."""
    if not isinstance(value, str) or not _INSTANT.fullmatch(value):
        raise ValueError
    try:
        return datetime.fromisoformat(value).astimezone(UTC)
    except OverflowError as error:
        raise ValueError from error


def as_seconds(value: Any) -> int:
    match = _TIME.fullmatch(as_text(value))
    if match is None:
        raise ValueError
    hours, minutes, seconds = match.groups()
    return int(hours) * 3600 + int(minutes) * 60 + int(seconds or 0)
