"""What a device takes along of one family: called-names, steps that apply today, last time's trouble. No more.

No birth dates, no full names, nothing of the care plan but which steps apply and the limits they are measured by.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.fields import as_seconds
from competency.programme import Edition, Evidence, Facts, Step
from training.pages.recording import words
from training.pages.recording.last_time import LastTime, last_time
from training.pages.templatetags.register import STEP_WORDS
from training.people.models import Caregiver, Member, Organisation
from training.standing.drafts import observes_themself
from training.standing.questions import FamilyOn

IN_THE_WAY = {
    "authorisation": gettext_lazy("No prescriber’s authorisation is in force for it today."),
    "hold": gettext_lazy("It is held today: a pause or a stop is in force."),
}


def pack_of(picture: FamilyOn, member: Member, now: datetime) -> dict[str, Any]:
    """The family on the picture's day, which is its today."""
    family = picture.family
    local = now.astimezone(family.zone)
    facts = picture.history.known.scoring_facts.facts(picture.day, as_seconds(f"{local:%H:%M:%S}"), now)
    editions = _editions(picture, facts)
    people = [c for c in picture.caregivers if _is_here(c, picture.day) and not observes_themself(member, c)]
    return {
        "author": member.observer_id,
        "initials": initials(member),
        "family": str(family.public_id),
        "patient": family.patient_called,
        "zone": family.time_zone,
        "as_of": picture.day.isoformat(),
        "as_of_written": date_format(picture.day, "j F"),
        "choices": _choices(family.patient_called),
        "skills": {code: _skill(picture, edition, facts, code) for code, edition in editions.items()},
        "caregivers": [_caregiver(picture, member, c, editions, people) for c in people] if editions else [],
    }


def initials(member: Member) -> str:
    """The first letters of a member's names, for a locked screen."""
    return "".join(part[0] for part in member.user.full_name.split() if part)[:3].upper()


def _editions(picture: FamilyOn, facts: Facts) -> dict[str, Edition]:
    """The editions of skills that are shown to an observer and called for today; none before the first care plan."""
    if picture.history.known.first_day is None or picture.day < picture.history.known.first_day:
        return {}
    found = {}
    for code, skill in picture.history.known.programme.skills.items():
        edition = skill.in_force(picture.day)
        if skill.evidence is Evidence.DEMONSTRATION and edition is not None and edition.applies_when.is_met(facts):
            found[code] = edition
    return found


def _is_here(caregiver: Caregiver, day: date) -> bool:
    return (caregiver.from_day is None or caregiver.from_day <= day) and (
        caregiver.through is None or day <= caregiver.through
    )


def _choices(patient: str) -> dict[str, list[list[str]]]:
    settings = [[code, patient if code == "patient" else str(title)] for code, title in words.SETTINGS.items()]
    others = {"role": words.ROLES, "mode": words.MODES, "place": words.PLACES}
    return {"setting": settings, **{name: [[c, str(t)] for c, t in found.items()] for name, found in others.items()}}


def _skill(picture: FamilyOn, edition: Edition, facts: Facts, code: str) -> dict[str, Any]:
    said = picture.words.steps.get((code, edition.number), {})
    title = picture.words.skill(code)
    return {
        "title": title.title,
        "cautions": list(title.cautions),
        "edition": edition.number,
        "steps": [
            _step(step.fitted(facts), number, said.get(step.code, {}))
            for number, step in enumerate(edition.steps, 1)
            if step.applies_when.is_met(facts)
        ],
    }


def _step(step: Step, number: int, said: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "code": step.code,
        "number": number,
        "text": said.get("text", step.code),
        "watch": said.get("watch", ""),
        "critical": step.critical,
        "may_skip": step.may_skip,
        "roles": sorted(step.roles) if step.roles is not None else None,
        "unit": step.measure.unit if step.measure else "",
        "limits": words.limits(step.measure) if step.measure else "",
    }


def _caregiver(
    picture: FamilyOn, member: Member, caregiver: Caregiver, editions: Mapping[str, Edition], people: list[Caregiver]
) -> dict[str, Any]:
    """relation: only where two are called the same."""
    is_alone = sum(c.called == caregiver.called for c in people) == 1
    return {
        "id": caregiver.case_id,
        "called": caregiver.called,
        "relation": "" if is_alone else caregiver.relation,
        "is_patient": caregiver.is_patient,
        "skills": {code: _about(picture, member, caregiver, code, edition) for code, edition in editions.items()},
    }


def _about(picture: FamilyOn, member: Member, caregiver: Caregiver, code: str, edition: Edition) -> dict[str, Any]:
    gates = words.gates_closed(picture, caregiver, code)
    held = [said for said in picture.cell(caregiver, code).reasons if said.met is False]
    warnings = [str(IN_THE_WAY[said.code]) for said in held if said.code in IN_THE_WAY]
    if not picture.history.observers.is_qualified(member.observer_id, code, picture.day):
        warnings.append(_("You are not qualified to assess it today: it will be kept as practice."))
    last = last_time(picture, caregiver, code)
    return {
        "gates": gates,
        "warnings": list(dict.fromkeys(warnings)),
        "likely": _likeliest(picture, edition, is_closed=bool(gates)),
        "last": _last(last) if last else None,
    }


def _likeliest(picture: FamilyOn, edition: Edition, *, is_closed: bool) -> dict[str, str]:
    """What is chosen beforehand, as on the page that starts a demonstration with a connection."""
    needs = edition.standard.needs
    is_hospital = picture.family.organisation.kind == Organisation.Kind.HOSPITAL
    likely = {
        "setting": (*(() if is_closed else ("patient",)), "simulation", "model"),
        "role": tuple(words.ROLES),
        "mode": tuple(words.MODES),
        "place": ("hospital" if is_hospital else "home", *words.PLACES),
    }
    return {
        name: next((c for c in codes if needs and c in (getattr(needs[0], name) or ())), codes[0])
        for name, codes in likely.items()
    }


def _last(last: LastTime) -> dict[str, Any]:
    return {
        "on": date_format(last.on, "j F"),
        "is_practice": last.is_practice,
        "stopped": last.stopped or "",
        "troubles": [
            {
                "code": t.code,
                "number": t.number,
                "text": t.text,
                "word": str(STEP_WORDS[t.shown]),
                "critical": t.critical,
                "value": t.value,
            }
            for t in last.troubles
        ],
        "line": last.line,
        "line_on": date_format(last.line_on, "j F") if last.line_on else "",
    }
