"""What each member may assess, as the organisation's own records state it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from training.curriculum.models import Programme
from training.people.models import Member
from training.records.models import Record


def skill_titles(member: Member) -> dict[str, str]:
    """What the skills of the organisation's programmes are called."""
    programmes = Programme.objects.visible_to(member)
    return {skill["code"]: skill["title"] for programme in programmes for skill in programme.about["skills"]}


def skills_of_all(member: Member) -> dict[str, str]:
    """The skills that every programme of the organisation has: what may be named in a statement for all families."""
    programmes = [{s["code"] for s in p.about["skills"]} for p in Programme.objects.visible_to(member)]
    shared = set.intersection(*programmes) if programmes else set()
    return {code: title for code, title in skill_titles(member).items() if code in shared}


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """That somebody may assess a skill, or every skill, on these days."""

    title: str
    from_day: date
    through: date | None


def statements(member: Member) -> dict[str, list[Statement]]:
    """Every statement of the organisation that is not voided, by the observer it is about."""
    titles = skill_titles(member)
    records = list(Record.objects.of_chain(member.organisation.public_id))
    voided = {r.data["record"] for r in records if r.kind == "void"}
    found: dict[str, list[Statement]] = {}
    for record in records:
        if record.kind == "qualification" and str(record.intent) not in voided:
            body = record.data
            through = date.fromisoformat(body["through"]) if body["through"] else None
            title = titles.get(body["skill"], body["skill"]) if body["skill"] else _("Every skill")
            made = Statement(title=title, from_day=date.fromisoformat(body["from"]), through=through)
            found.setdefault(body["observer"], []).append(made)
    return found
