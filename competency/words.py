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
    "withdrawn": (
        "Withdrawn on {on}. Only a full sign-off leads back.",
        "We would like to see this again from the start.",
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
    "needs.met": ("{have} of {of} passes{kind}.", "You have shown it as often as we ask{kind}."),
    "needs.more": (
        "{have} of {of} passes{kind}. {more} more{how}.",
        "You have shown it {have} of {of} times{kind}. {more} more{how}.",
    ),
    "needs.spread": (
        "{have} of {of} passes{kind}; one more{how}.",
        "You have shown it often enough{kind}. Once more{how}.",
    ),
    "renewal.met": ("Shown again: {have} of {of}{kind}.", "You have shown it again{kind}."),
    "renewal.more": (
        "To show again{kind}: {have} of {of} so far{how}.",
        "Show it again{kind}: {have} of {of} so far{how}.",
    ),
    "renewal.spread": ("To show again{kind}; one more{how}.", "Show it once more{kind}{how}."),
    "gate.open": ("Gate open: {skill}.", "{skill}: done."),
    "gate.closed": ("Gate closed: {skill} is not signed off.", "First finish: {skill}."),
    "gate.too_long_ago": ("Gate closed: {skill} was shown too long ago.", "First show {skill} again."),
    "gate_waived": ("{skill} is not required, so it gates nothing.", "{skill} is not needed."),
    "authorisation.met": ("The prescriber has authorised it.", "The prescriber has said yes."),
    "authorisation.unmet": ("No authorisation of the prescriber is in force.", "We wait for the prescriber’s yes."),
    "hold.open": ("On hold since {on}.", "You are on pause. Nothing you have shown is lost."),
    "hold.through": (
        "On hold from {on} through {through}.",
        "You are on pause through {through}. Nothing you have shown is lost.",
    ),
    "recheck.record": ("To be shown again: asked for on {on}.", "Please show us this again."),
    "recheck.critical": ("To be shown again: a critical step on {on}.", "Please show us this again."),
    "recheck.fact": ("To be shown again: {fact} changed on {on}.", "{fact} changed. Please show us this again."),
    "recheck.edition": (
        "To be shown again: a new edition on {on}.",
        "The checklist changed. Please show us this again.",
    ),
    "recheck.required_again": (
        "To be shown again: required again since {on}.",
        "This is needed again. Please show us once more.",
    ),
    "recheck_due.fact": (
        "To be shown again before {opens_on}: {fact} changed.",
        "{fact} changed. Show us this before {opens_on}.",
    ),
    "recheck_due.edition": (
        "To be shown again before {opens_on}: a new edition.",
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
        "{on}: this was our paperwork, not you: the person watching could not sign for it yet.",
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
        "{on}: you did it, but {gate} comes first. This was our planning, not you.",
    ),
}

_KINDS = {
    "setting": {"model": "on a model", "simulation": "in a simulation", "patient": "on the patient"},
    "role": {"lead": "leading", "assist": "assisting"},
    "mode": {"in_person": "in person", "remote": "by video"},
    "place": {"hospital": "in hospital", "home": "at home", "school": "at school", "out": "out of the house"},
}


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
        filled["fact"] = _capital(names.fact(about["fact"], register))
    if "facts" in about:
        filled["facts"] = ", ".join(names.fact(f, register) for f in about["facts"])
    if "gate" in about:
        filled["gate"] = ", ".join(names.skill(s, register) for s in about["gate"])
    if "steps" in about:
        filled["steps"] = "; ".join(names.step(about["record"], s, register) for s in about["steps"])
    if reason.code in ("needs", "renewal"):
        filled |= {"more": about["of"] - about["have"], "kind": _kind(about), "how": _how(about)}
    words = TEMPLATES[variant(reason)][register is Register.CAREGIVER]
    return template(words).format(**filled)


def variant(reason: Reason) -> str:
    """Which template a reason takes."""
    about, code = reason.about, reason.code
    if code == "signed_off":
        return "signed_off.through" if about["last_day"] else "signed_off.always"
    if code == "lapsed":
        return "lapsed.renewal" if about["renewal_through"] else "lapsed.full"
    if code == "signature":
        return f"signature.{about['by']}.{'given' if reason.met else 'missing'}"
    if code in ("needs", "renewal"):
        if reason.met:
            return f"{code}.met"
        return f"{code}.more" if about["have"] < about["of"] else f"{code}.spread"
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
        if about["why"][0] == "gate" and not about["gate"]:
            return "did_not_count.no_edition"
        return f"did_not_count.{about['why'][0]}"
    if code == "critical" and not about["steps"]:
        return "critical.stopped"
    return code


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _kind(about: Mapping[str, Any]) -> str:
    """Which attempts a need looks at, in words; nothing where it looks at all."""
    parts = [" or ".join(words[v] for v in words if v in about[key]) for key, words in _KINDS.items() if about.get(key)]
    return f" {_join(parts)}" if parts else ""


def _join(parts: Iterable[str]) -> str:
    return ", ".join(parts)


def _how(about: Mapping[str, Any]) -> str:
    """What else the missing passes have to bring."""
    more = []
    if about["days_have"] < about["days"]:
        more.append("on another day")
    if about["observers_have"] < about["observers"] and about["have"]:
        more.append("before another observer")
    if about["places_have"] < about["places"] and about["have"]:
        more.append("in another place")
    if about["within"] and about["have"] >= about["of"]:
        more.append("closer together")
    if not about["have"] and more:
        more = ["on different days"] if about["days"] > 1 else []
    return f", {_join(more)}" if more else ""
