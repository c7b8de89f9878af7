"""Reads a case: one family's whole record and the question asked of it (design 5). Nothing is guessed."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from typing import Any, NoReturn, TypeVar

from competency.checking import check_case
from competency.fields import Fields, Problem, RefusedError, as_number
from competency.programme import Facts, Mode, Place, Programme, Role, Setting, Signer, fact_key
from competency.reading_programme import is_fact_value, read_programme
from competency.records import (
    Acceptance,
    Authorisation,
    Caregiver,
    CarePlanEntry,
    Case,
    Certificate,
    Demonstration,
    Exemption,
    Hold,
    ItemDone,
    Override,
    Purpose,
    Qualification,
    RecheckCall,
    Record,
    Resolution,
    Result,
    Results,
    SecondObserver,
    Seen,
    Signature,
    Stopped,
    Take,
    Void,
    Withdrawal,
)

T = TypeVar("T")


def parse(text: str | bytes) -> Any:
    """JSON as Python values. Raises RefusedError for what is no JSON, a key given twice, NaN and infinity."""

    def pairs(found: list[tuple[str, Any]]) -> dict[str, Any]:
        made = dict(found)
        if len(made) != len(found):
            twice = sorted({k for k, _ in found if sum(k == other for other, _ in found) > 1})
            raise RefusedError([Problem("$", f"the key {twice[0]!r} is given twice in one object")])
        return made

    def constant(name: str) -> NoReturn:
        raise RefusedError([Problem("$", f"{name} is no number")])

    try:
        return json.loads(text, object_pairs_hook=pairs, parse_constant=constant)
    except RecursionError:
        raise RefusedError([Problem("$", "is nested too deeply")]) from None
    except ValueError as error:
        if isinstance(error, RefusedError):
            raise
        raise RefusedError([Problem("$", f"is no JSON: {error}")]) from None


def read_case(data: Any, *, programme: Programme | None = None) -> Case:
    """Turn a parsed case into values. Raises RefusedError with every problem found.

    programme: one that was read before; the case then has none of its own.
    """
    problems: list[Problem] = []
    fields = Fields(data, "", problems)
    if programme is None:
        programme = read_programme(fields.raw("programme"), "programme", problems)
    case = {
        "qualifications": _all(fields, "qualifications", _qualification),
        "care_plan": _all(fields, "care_plan", _care_plan_entry),
        "authorisations": _all(fields, "authorisations", _authorisation),
        "items": _all(fields, "items", _item),
        "exceptions": _all(fields, "exceptions", _exception),
        "caregivers": _all(fields, "caregivers", _caregiver),
        "voids": _all(fields, "voids", _void),
        "on": fields.day("on"),
        "known_at": fields.instant("known_at", required=False),
    }
    sound = fields.done()
    if programme is None or not sound:
        raise RefusedError(problems)
    made = Case(programme=programme, **case)
    problems += check_case(made, data)
    if problems:
        raise RefusedError(problems)
    return made


def read_programme_alone(data: Any) -> Programme:
    """Read the ``programme`` part by itself. Raises RefusedError with every problem found."""
    problems: list[Problem] = []
    programme = read_programme(data, "", problems)
    if programme is None or problems:
        raise RefusedError(problems)
    return programme


def _all(fields: Fields, key: str, read: Callable[[Fields], T]) -> tuple[T, ...]:
    """Read each object of a list; what is unsound is left out, its problems kept."""
    found = []
    for at, item in fields.items(key, required=False):
        part = Fields(item, at, fields.problems)
        made = read(part)
        if part.done():
            found.append(made)
    return tuple(found)


def _dated(fields: Fields) -> dict[str, Any]:
    return {"id": fields.text("id"), "recorded_at": fields.instant("recorded_at")}


def _range(fields: Fields) -> dict[str, Any]:
    from_day, through = fields.day("from"), fields.day("through", required=False)
    if from_day is not None and through is not None and through < from_day:
        fields.refuse("through", "is before from")
    return {"from_day": from_day, "through": through}


def _qualification(fields: Fields) -> Qualification:
    return Qualification(
        **_dated(fields), observer=fields.text("observer"), skill=fields.text("skill", required=False), **_range(fields)
    )


def _care_plan_entry(fields: Fields) -> CarePlanEntry:
    return CarePlanEntry(
        **_dated(fields), on=fields.day("on"), seconds=fields.seconds("time", required=False), facts=_facts(fields)
    )


def _facts(fields: Fields) -> Facts:
    facts = {}
    for at, name, value in fields.pairs("facts"):
        if is_fact_value(value):
            facts[name] = fact_key(value)
        else:
            fields.problems.append(Problem(at, "is not true, false, a number or a text; leave an unknown fact out"))
    return facts


def _authorisation(fields: Fields) -> Authorisation:
    return Authorisation(**_dated(fields), skill=fields.text("skill"), **_range(fields))


def _item(fields: Fields) -> ItemDone:
    return ItemDone(**_dated(fields), item=fields.text("item"), on=fields.day("on"))


def _exception(fields: Fields) -> Exemption:
    days = _range(fields)
    if not fields.has("through"):
        fields.refuse("through", "is missing: an exception has a last day")
    return Exemption(
        **_dated(fields), missing=fields.text("missing"), by=fields.text("by"), reason=fields.text("reason"), **days
    )


def _void(fields: Fields) -> Void:
    return Void(**_dated(fields), record=fields.text("record"), reason=fields.text("reason"))


def _caregiver(fields: Fields) -> Caregiver:
    id_ = fields.text("id")
    from_day, through = fields.day("from", required=False), fields.day("through", required=False)
    if from_day is not None and through is not None and through < from_day:
        fields.refuse("through", "is before from")
    sets = []
    for at, name in fields.items("sets", required=False):
        if not isinstance(name, str) or name in sets:
            fields.problems.append(Problem(at, "is not the name of a set, or is there already"))
        else:
            sets.append(name)
    return Caregiver(
        id=id_,
        born=fields.day("born", required=False),
        is_patient=fields.flag("is_patient", default=False),
        from_day=from_day,
        through=through,
        sets=tuple(sets),
        records=tuple(_records(fields)),
    )


# Records --------------------------------------------------------------------------------------------------


def _records(fields: Fields) -> Iterable[Record]:
    for at, item in fields.items("records", required=False):
        part = Fields(item, at, fields.problems)
        kind = part.choice("kind", _KINDS)
        if kind is None:
            continue
        record = _KINDS[kind](part)
        if part.done():
            yield record


def _moment(fields: Fields) -> dict[str, Any]:
    return {**_dated(fields), "on": fields.day("on"), "seconds": fields.seconds("time", required=False)}


_PURPOSES, _SETTINGS, _ROLES, _MODES = tuple(Purpose), tuple(Setting), tuple(Role), tuple(Mode)
_PLACES, _SIGNERS, _TAKES, _STOPPED = tuple(Place), tuple(Signer), tuple(Take), tuple(Stopped)


def _demonstration(fields: Fields) -> Demonstration:
    on, began = fields.day("on"), fields.day("began", required=False)
    if on is not None and began is not None and began >= on:
        fields.refuse("began", "is not before on")
    observers: list[str] = []
    for at, name in fields.items("observers"):
        if not isinstance(name, str) or not name or name in observers:
            fields.problems.append(Problem(at, "is not the id of an observer, or is there already"))
        else:
            observers.append(name)
    if not observers and fields.is_sound:
        fields.refuse("observers", "is empty")
    second = None
    if fields.has("second"):
        part = fields.part("second")
        second = SecondObserver(observer=part.text("observer"), results=_results(part))
        if part.done() and observers and second.observer == observers[0]:
            part.refuse("observer", "is the lead observer")
    else:
        fields.raw("second", required=False)
    return Demonstration(
        **_dated(fields),
        on=on,
        seconds=fields.seconds("time"),
        skill=fields.text("skill"),
        edition=fields.whole("edition", 1, 100_000),
        purpose=fields.choice("purpose", _PURPOSES),
        setting=fields.choice("setting", _SETTINGS),
        role=fields.choice("role", _ROLES),
        mode=fields.choice("mode", _MODES),
        place=fields.choice("place", _PLACES),
        observers=tuple(observers),
        results=_results(fields),
        second=second,
        stopped=fields.choice_or_none("stopped", _STOPPED),
        began=began,
    )


_PLAIN = {r.value: Seen(r.value) for r in Result}


def _results(fields: Fields) -> Results:
    found: dict[str, Seen] = {}
    for code, item in fields.mapping("results").items():
        if isinstance(item, str):
            if item in _PLAIN:
                found[code] = _PLAIN[item]
            else:
                fields.refuse(f"results.{code}", f"is not one of {', '.join(Result)}")
            continue
        part = Fields(item, fields.at(f"results.{code}"), fields.problems)
        result, value = part.choice("result", list(Result)), part.number("value")
        if not part.done():
            continue
        if value is not None and result in (Result.NOT_SEEN, Result.NOT_APPLICABLE):
            part.refuse("value", "a step that was not seen or does not apply has no value")
        found[code] = Seen(result, None if value is None else as_number(value))
    return found


def _certificate(fields: Fields) -> Certificate:
    record = Certificate(**_moment(fields), skill=fields.text("skill"), through=fields.day("through", required=False))
    if fields.is_sound and record.through is not None and record.through < record.on:
        fields.refuse("through", "is before on")
    return record


def _accepted(fields: Fields) -> Acceptance:
    record = Acceptance(
        **_moment(fields),
        skill=fields.text("skill"),
        last_day=fields.day("last_day", required=False),
        organisation=fields.text("organisation"),
    )
    if fields.is_sound and record.last_day is not None and record.last_day < record.on:
        fields.refuse("last_day", "is before on")
    return record


def _signature(fields: Fields) -> Signature:
    return Signature(**_moment(fields), skill=fields.text("skill"), by=fields.choice("by", _SIGNERS))


def _hold(fields: Fields) -> Hold:
    record = Hold(
        **_moment(fields),
        skill=fields.text("skill", required=False),
        through=fields.day("through", required=False),
        reason=fields.text("reason", required=False) or "",
    )
    if fields.is_sound and record.through is not None and record.through < record.on:
        fields.refuse("through", "is before on")
    return record


def _recheck(fields: Fields) -> RecheckCall:
    return RecheckCall(**_moment(fields), skill=fields.text("skill", required=False), reason=fields.text("reason"))


def _withdrawal(fields: Fields) -> Withdrawal:
    return Withdrawal(
        **_moment(fields), skill=fields.text("skill"), reason=fields.text("reason"), cover=fields.text("cover")
    )


def _aside(fields: Fields) -> dict[str, Any]:
    """An id and instant; a day and time may stand there too and move nothing: it acts on the attempt's own day."""
    fields.day("on", required=False)
    fields.seconds("time", required=False)
    return {**_dated(fields), "record": fields.text("record")}


def _resolution(fields: Fields) -> Resolution:
    return Resolution(**_aside(fields), take=fields.choice("take", _TAKES))


def _override(fields: Fields) -> Override:
    return Override(**_aside(fields), reason=fields.text("reason"))


_KINDS: dict[str, Callable[[Fields], Record]] = {
    "demonstration": _demonstration,
    "certificate": _certificate,
    "accepted": _accepted,
    "signature": _signature,
    "hold": _hold,
    "recheck": _recheck,
    "withdrawal": _withdrawal,
    "resolution": _resolution,
    "override": _override,
}
