"""Each reason in plain English, for two registers: a clinician and a caregiver.

One template per variant and register; the site translates the templates and fills them. A caregiver never reads
failed, lapsed, withdrawn or unsafe, and no reason of a hold.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import date
from enum import StrEnum
from typing import Any, Protocol

from competency.reasons import Reason


class Register(StrEnum):
    CLINICIAN = "clinician"
    CAREGIVER = "caregiver"


class Names(Protocol):
    """What codes are called."""

    def skill(self, code: str, register: Register) -> str: ...
    def fact(self, code: str, register: Register) -> str: ...
    def step(self, record: str, code: str, register: Register) -> str: ...


class CodesAsNames:
    """Codes for names, where nobody has given any."""

    def skill(self, code: str, register: Register) -> str:
        return code

    def fact(self, code: str, register: Register) -> str:
        return code

    def step(self, record: str, code: str, register: Register) -> str:
        return code


TEMPLATES: Mapping[str, tuple[str, str]] = {
    "no_care_plan": ("There is no care plan on this day yet.", "There is no care plan yet."),
    "no_edition": ("No edition of this skill is in force.", "This skill is not in use yet."),
    "care_plan_does_not_call": (
        "Not required: the care plan says so ({facts}).",
        "With this care plan it is not needed.",
    ),
    "signed_off.always": ("Signed off since {on}; it does not lapse.", "You have shown this. It does not run out."),
    "signed_off.through": (
        "Signed off since {on}, through {last_day}.",
        "You have shown this. It holds through {last_day}.",
    ),
    "lapsed.renewal": (
        "{last_day} was the last day. A renewal by {renewal_through} brings it back.",
        "This was good through {last_day}. Show it again by {renewal_through} and you are ready once more.",
    ),
    "lapsed.full": (
        "{last_day} was the last day. Only a full sign-off brings it back.",
        "This was good through {last_day}. We start it again with you.",
    ),
    "lapsed.card": (
        "{last_day} was the last day of the card. Only a new card brings it back.",
        "Your card was good through {last_day}. A new card makes you ready once more.",
    ),
    "withdrawn": (
        "Withdrawn on {on}. Only a full sign-off leads back.",
        "We would like to see this again from the start.",
    ),
    "withdrawn.card": (
        "Withdrawn on {on}. Only a new card leads back.",
        "We would like to see a new card from you.",
    ),
    "signature.caregiver.given": ("The caregiver has signed.", "You have said yes."),
    "signature.caregiver.missing": (
        "Awaiting the caregiver’s own signature; shown {shown_on}.",
        "You have shown all of it. Only your own yes is missing: do you feel you could do this alone?",
    ),
    "signature.educator.given": ("The educator has signed.", "Your nurse has said yes."),
    "signature.educator.missing": (
        "Awaiting the educator’s signature; shown {shown_on}.",
        "You have shown all of it. Your nurse still has to say yes.",
    ),
    "certificate": ("No current card has been seen.", "Bring your course card, so we can note it down."),
    "needs.met": ("{have} of {of} {passes}{kind}.", "You have shown it as often as we ask{kind}."),
    "needs.none": ("{have} of {of} {passes}{kind}{how}.", "Show it {times}{kind}{how}."),
    "needs.more": (
        "{have} of {of} {passes}{kind}. {more} more{how}.",
        "You have shown it {have} of {of} times{kind}. {more} more{how}.",
    ),
    "needs.spread": (
        "{have} of {of} {passes}{kind}. {more} more{how}.",
        "You have shown it often enough{kind}. {more} more{how}.",
    ),
    "needs.apart": (
        "{have} of {of} {passes}{kind}, but not close enough together.",
        "You have shown it often enough{kind}, but the days lie too far apart. Show it again soon.",
    ),
    "renewal.met": ("Shown again: {have} of {of}{kind}.", "You have shown it again{kind}."),
    "renewal.none": ("To show again{kind}: {have} of {of} so far{how}.", "Show it again {times}{kind}{how}."),
    "renewal.more": (
        "To show again{kind}: {have} of {of} so far. {more} more{how}.",
        "You have shown it again {have} of {of} times{kind}. {more} more{how}.",
    ),
    "renewal.spread": (
        "To show again{kind}: {have} of {of} so far. {more} more{how}.",
        "You have shown it again often enough{kind}. {more} more{how}.",
    ),
    "renewal.apart": (
        "To show again{kind}: {have} of {of} so far, but not close enough together.",
        "You have shown it again often enough{kind}, but the days lie too far apart. Show it again soon.",
    ),
    "gate.open": ("Gate open: {skill}.", "{skill}: done."),
    "gate.closed": ("Gate closed: {skill} is not signed off.", "First finish: {skill}."),
    "gate.too_long_ago": ("Gate closed: {skill} was shown too long ago.", "First show this again: {skill}."),
    "gate_waived": ("{skill} is not required, so it gates nothing.", "{skill} is not needed."),
    "authorisation.met": ("The prescriber has authorised it.", "The prescriber has said yes."),
    "authorisation.unmet": ("No authorisation of the prescriber is in force.", "We wait for the prescriber’s yes."),
    "hold.open": ("On hold since {on}.", "You are on pause. Nothing you have shown is lost."),
    "hold.through": (
        "On hold from {on} through {through}.",
        "You are on pause through {through}. Nothing you have shown is lost.",
    ),
    "recheck.record": ("To be shown again since {on}: a recheck was asked for.", "Please show us this again."),
    "recheck.critical": (
        "To be shown again since {on}: the demonstration that day was critical.",
        "Please show us this again.",
    ),
    "recheck.fact": (
        "To be shown again since {on}: {fact} changed.",
        "Something changed: {fact}. Please show us this again.",
    ),
    "recheck.edition": (
        "To be shown again since {on}: a new edition of the checklist.",
        "The checklist changed. Please show us this again.",
    ),
    "recheck.required_again": (
        "To be shown again since {on}: the care plan calls for it again.",
        "This is needed again. Please show us once more.",
    ),
    "recheck_due.fact": (
        "To be shown again before {opens_on}: {fact} changed.",
        "Something changed: {fact}. Show us this before {opens_on}.",
    ),
    "recheck_due.edition": (
        "To be shown again before {opens_on}: a new edition of the checklist.",
        "The checklist changed. Show us this before {opens_on}.",
    ),
    "prerequisite.met": ("{skill} is signed off, as this needs.", "{skill}: ready."),
    "prerequisite.unmet": ("Held: {skill} is not signed off.", "This waits for: {skill}."),
    "passed": ("{on}: passed, counts.", "{on}: you showed it alone."),
    "critical": ("{on}: critical, {steps}.", "{on}: needs one more. We look at this together: {steps}."),
    "critical.stopped": (
        "{on}: critical, stopped for safety.",
        "{on}: needs one more. We stopped to keep everyone safe.",
    ),
    "critical.stopped_also": (
        "{on}: critical, stopped for safety; not alone: {steps}.",
        "{on}: needs one more. We stopped to keep everyone safe. We look at this together: {steps}.",
    ),
    "not_passed": ("{on}: not passed, {steps}.", "{on}: needs one more. We look at this together: {steps}."),
    "incomplete": (
        "{on}: incomplete, counts for nothing.",
        "{on}: we could not see all of it. It does not count against you.",
    ),
    "disputed": (
        "{on}: two observers differ; a supervisor resolves it.",
        "{on}: this was our paperwork, not you. We sort it out.",
    ),
    "did_not_count.practice": ("{on}: practice, counts for nothing.", "{on}: practice. Practice is never marked."),
    "did_not_count.observer": (
        "{on}: practice, since the observer was not qualified for this skill that day.",
        "{on}: this was our paperwork, not you: the person watching could not sign for it that day.",
    ),
    "did_not_count.edition": (
        "{on}: passed, does not count: on an edition no longer accepted.",
        "{on}: you did it. This was our paperwork, not you: we used an old checklist.",
    ),
    "did_not_count.authorisation": (
        "{on}: passed, does not count: no authorisation that day.",
        "{on}: you did it. This was our paperwork, not you: the prescriber’s yes was missing.",
    ),
    "did_not_count.no_edition": (
        "{on}: passed, does not count toward a full sign-off: no edition was in force when it began.",
        "{on}: you did it. This was our paperwork, not you: the checklist was not in use yet.",
    ),
    "did_not_count.gate": (
        "{on}: passed, does not count toward a full sign-off: the gate was closed ({gate}).",
        "{on}: you did it, but something else comes first: {gate}. This was our planning, not you.",
    ),
}

_KINDS = {
    "setting": {"model": "on a model", "simulation": "in a simulation", "patient": "on the patient"},
    "role": {"lead": "leading", "assist": "assisting"},
    "mode": {"in_person": "in person", "remote": "by video"},
    "place": {"hospital": "in hospital", "home": "at home", "school": "at school", "out": "out of the house"},
}
_PLAINLY = _KINDS | {"role": {"lead": "doing it yourself", "assist": "helping"}}


def say(
    reason: Reason,
    register: Register,
    names: Names | None = None,
    *,
    day: Callable[[date], str] = lambda d: f"{d.day} {d:%B %Y}",
    template: Callable[[str], str] = lambda text: text,
) -> str:
    """Put a reason into words. day: writes a date; template: translates a template before it is filled."""
    names = names or CodesAsNames()
    about = reason.about
    filled: dict[str, Any] = {key: day(v) if isinstance(v, date) else v for key, v in about.items()}
    if about.get("skill"):
        filled["skill"] = names.skill(about["skill"], register)
    if about.get("fact"):
        filled["fact"] = names.fact(about["fact"], register)
    if "facts" in about:
        filled["facts"] = ", ".join(names.fact(f, register) for f in about["facts"])
    if "gate" in about:
        filled["gate"] = ", ".join(names.skill(s, register) for s in about["gate"])
    if "steps" in about:
        filled["steps"] = "; ".join(names.step(about["record"], s, register) for s in about["steps"])
    if reason.code in ("needs", "renewal"):
        filled |= _count(about, register)
    words = TEMPLATES[variant(reason)][register is Register.CAREGIVER]
    return template(words).format(**filled)


def variant(reason: Reason) -> str:
    """Which template a reason takes."""
    about, code = reason.about, reason.code
    if code == "signed_off":
        return "signed_off.through" if about["last_day"] else "signed_off.always"
    if code == "lapsed":
        return "lapsed.card" if about["card"] else "lapsed.renewal" if about["renewal_through"] else "lapsed.full"
    if code == "withdrawn":
        return "withdrawn.card" if about["card"] else "withdrawn"
    if code == "signature":
        return f"signature.{about['by']}.{'given' if reason.met else 'missing'}"
    if code in ("needs", "renewal"):
        if reason.met:
            return f"{code}.met"
        return f"{code}.{_shortage(about)}"
    if code == "gate":
        if reason.met:
            return "gate.open"
        return "gate.too_long_ago" if about["too_long_ago"] else "gate.closed"
    if code in ("authorisation", "prerequisite"):
        return f"{code}.met" if reason.met else f"{code}.unmet"
    if code == "hold":
        return "hold.through" if about["through"] else "hold.open"
    if code in ("recheck", "recheck_due"):
        return f"{code}.{about['cause']}"
    if code == "did_not_count":
        return "did_not_count.no_edition" if about["why"] == "gate" and not about["gate"] else f"{code}.{about['why']}"
    if code == "critical" and about["stopped"]:
        return "critical.stopped_also" if about["steps"] else "critical.stopped"
    return code


# Counts ---------------------------------------------------------------------------------------------------


def _shortage(about: Mapping[str, Any]) -> str:
    """Why a need does not hold: nothing shown yet, too few, too much alike, or too far apart."""
    if not about["have"]:
        return "none"
    if about["have"] < about["of"]:
        return "more"
    return "spread" if _more(about) else "apart"


def _more(about: Mapping[str, Any]) -> int:
    """How many passes it takes at least: each may bring a day, an observer and a place that is missing."""
    short: list[int] = [about["of"] - about["have"], *(about[key] - about[f"{key}_have"] for key in _ELSE)]
    return max(short)


def _count(about: Mapping[str, Any], register: Register) -> Mapping[str, Any]:
    of, more = about["of"], _more(about)
    return {
        "have": min(about["have"], of),
        "passes": "pass" if of == 1 else "passes",
        "times": {1: "once", 2: "twice"}.get(of, f"{of} times"),
        "more": more,
        "kind": _kind(about, _PLAINLY if register is Register.CAREGIVER else _KINDS),
        "how": _how(about, register),
    }


def _kind(about: Mapping[str, Any], kinds: Mapping[str, Mapping[str, str]]) -> str:
    """Which attempts a need looks at, in words; nothing where it looks at all."""
    parts = [" or ".join(words[v] for v in words if v in about[key]) for key, words in kinds.items() if about.get(key)]
    return f" {_join(parts)}" if parts else ""


def _join(parts: Iterable[str]) -> str:
    return ", ".join(parts)


# What passes are asked to differ in: from the first on; the one that is missing; the several that are missing.
_ELSE: Mapping[str, Mapping[Register, tuple[str, str, str]]] = {
    "days": dict.fromkeys(Register, ("on {n} different days", "on another day", "on {n} other days")),
    "observers": {
        Register.CLINICIAN: ("before {n} different observers", "before another observer", "before {n} other observers"),
        Register.CAREGIVER: (
            "with {n} different people watching",
            "with somebody else watching",
            "with {n} other people watching",
        ),
    },
    "places": dict.fromkeys(Register, ("in {n} different places", "in another place", "in {n} other places")),
}


def _how(about: Mapping[str, Any], register: Register) -> str:
    """What the passes still to be shown have to bring."""
    found = []
    for key, words in _ELSE.items():
        from_the_first, one, several = words[register]
        n = about[key] - about[f"{key}_have"]
        if not about["have"] and about[key] > 1:
            found.append(from_the_first.format(n=about[key]))
        elif about["have"] and n > 0:
            found.append(one if n == 1 else several.format(n=n))
    if about["within"] and about["of"] > 1 and not about["have"]:
        found.append("close together")
    return f", {_join(found)}" if found else ""
