"""A family on one day as the copy that is given to it. Names of caregivers and what staff wrote never enter it."""

from __future__ import annotations

from datetime import datetime

from django.utils.translation import gettext as _

from training.documents.family_copy import Allowed, FamilyCopy, OpenItem
from training.documents.record_words import exceptions_of
from training.standing.questions import FamilyOn, item_state, written


def family_copy_of(picture: FamilyOn, *, known_at: datetime) -> FamilyCopy:
    """known_at: the instant the file was read."""
    family, span = picture.family, picture.verdict_span
    asked = [skill for skill, cells in picture.rows if any(c.is_required and c.asked for c in cells)]
    return FamilyCopy(
        organisation=family.organisation.title,
        patient=family.patient_name,
        as_of=picture.day,
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        verdict=span.value.value if span else None,
        team_met=picture.team_met_by is not None if span else None,
        since=_since(picture),
        allowed=tuple(
            Allowed(covers=x.title, by=f"{x.name}, {x.role}", last_day=x.through)
            for x in exceptions_of(picture.missing)
        ),
        skills=tuple(skill.plain for skill in asked),
        items=tuple(
            OpenItem(title=i.title, state=item_state(i, picture.day), is_done=i.is_done) for i in picture.items
        ),
        facts_missing=sum(m.kind == "fact" for m in picture.missing),
        cautions=tuple(f"{skill.plain}: {caution}" for skill in asked for caution in skill.cautions),
        notice=picture.words.notice,
        chain_head=picture.file.head,
    )


def _since(picture: FamilyOn) -> str:
    span = picture.verdict_span
    if span is None:
        return ""
    if span.through is None:
        return _("So since %(since)s.") % {"since": written(span.start)}
    days = {"since": written(span.start), "through": written(span.through)}
    return _("So since %(since)s, and through %(through)s if nothing more happens.") % days
