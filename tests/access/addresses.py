"""The address list: every named pattern of the resolver, and what fills it in from one organisation's side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from django.urls import NoReverseMatch, URLPattern, get_resolver, reverse

from tests.access.side import Side
from training.people.models import Family

# What the number, or another part of an address, stands for there.
RECORD_OF = {
    "record": "signed",
    "void-new": "signed",
    "resolution-new": "disputed",
    "override-new": "gated",
    "pause-end": "own hold",
    "debrief-new": "event",
    "stay": "stay",
    "stay-duty": "stay",
    "stay-help": "stay",
    "stay-end": "stay",
    "appointment-move": "appointment",
    "appointment-cancel": "appointment",
    "mine-say": "signed",
}
NUMBERED_OTHERWISE = {"checklist": 1, "qualification-end": 1, "handover-record": 1}
OF_RECEIVED = frozenset(
    {
        "handover",
        "handover-care-plan",
        "handover-take-over",
        "handover-records",
        "handover-record",
        "handover-file",
        "handover-received",
    }
)


@cache
def patterns() -> dict[str, URLPattern]:
    """Every address of the site by its name. An address without a name would be one nobody asks about."""
    found: dict[str, URLPattern] = {}
    for pattern in _walk(get_resolver().url_patterns):
        assert pattern.name, f"{pattern.pattern} has no name"
        assert pattern.name not in found, f"two addresses are called {pattern.name}"
        found[pattern.name] = pattern
    return found


def _walk(entries: Any) -> Iterator[URLPattern]:
    for entry in entries:
        if isinstance(entry, URLPattern):
            yield entry
        else:
            yield from _walk(entry.url_patterns)


def names_in(pattern: URLPattern) -> frozenset[str]:
    """What this address takes, by name."""
    return frozenset(pattern.pattern.converters)


def parts_of(side: Side, name: str) -> dict[str, Any]:
    """Everything an address of this name may take, pointing into this side."""
    family, person = _family_of(side, name)
    number = side.records[RECORD_OF[name]].number if name in RECORD_OF else NUMBERED_OTHERWISE.get(name, 0)
    return {
        "family": family.public_id,
        "caregiver": side.people[person].public_id,
        "skill": "emergency" if name == "mine-sign" else "suction",
        "number": number,
        "draft": side.draft.public_id,
        "place": 0 if name == "way-edit" else 1,
        "edition": 1,
        "programme": side.programme.public_id,
        "step": "s01",
        "code": {"fact-edit": "cuff", "range-edit": "width"}.get(name, "kit" if "item" in name else "full"),
        "offer": (side.waiting if name == "offer-withdraw" else side.asked).public_id,
        "member": side.educator.public_id,
        "passkey": side.passkey,
        "uidb64": "MQ",
        "token": "set-password",
        "question": "kit",
    }


def _family_of(side: Side, name: str) -> tuple[Family, str]:
    """The family an address of this name is about, and the caregiver in it."""
    if name == "handover-take-over":
        return side.received[5], "received 5"
    if name in OF_RECEIVED:
        return side.received[4], "received 4"
    number = {"offer-withdraw": 2, "handover-packet": 2, "caregiver-invite-withdraw": 2, "reopening-new": 3}.get(
        name, 1
    )
    return side.families[number], "father 2" if name == "caregiver-invite-withdraw" else f"mother {number}"


def address(side: Side, name: str, **changes: Any) -> str:
    """The address of this name in this side."""
    parts: Mapping[str, Any] = {**parts_of(side, name), **changes}
    wanted = names_in(patterns()[name])
    try:
        found = reverse(name, kwargs={key: parts[key] for key in wanted})
    except (KeyError, NoReverseMatch) as error:
        raise AssertionError(f"{name}: say in tests/access/addresses.py what fills {sorted(wanted)}") from error
    return f"{found}?old=1&new=1" if name == "compare" else found
