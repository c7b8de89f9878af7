"""A caregiver's own page as the sheet that is printed of it: the same posts, in the same words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from django.utils.translation import gettext as _

from training.documents.remaining import Remaining, Shown, Turn
from training.pages.caregiver.pages import OwnPage, Post
from training.pages.caregiver.written import OwnWritten, PlannedWith
from training.people.models import Caregiver
from training.standing.questions import FamilyOn, written


def remaining_of(picture: FamilyOn, caregiver: Caregiver, *, known_at: datetime) -> Remaining:
    """known_at: when the newest record that bears on it was made."""
    family, page = picture.family, OwnPage(picture, caregiver)
    return Remaining(
        organisation=family.organisation.title,
        caregiver=caregiver.called,
        patient="" if caregiver.is_patient else family.patient_called,
        as_of=picture.day,
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        notice=picture.words.notice,
        summary=_summary(page),
        ready=tuple(_shown(p, _ready_lines(p)) for p in page.ready),
        next=tuple(_shown(p, _to_do(p)) for p in page.next),
        not_alone=tuple(_shown(p, [*p.why, *_to_do(p)]) for p in page.not_alone if p not in page.next),
        later=tuple(_shown(p, p.first) for p in page.later),
        planned=tuple(_turn(one) for one in OwnWritten(picture, caregiver).planned(with_names=False) if not one.is_off),
    )


def _summary(page: OwnPage) -> str:
    if not page.posts:
        return (
            _("There is no care plan yet.") if page.picture.care_plan is None else _("Nothing is asked of you today.")
        )
    counted = {"ready": len(page.ready), "all": len(page.posts)}
    return f"{_('Ready alone: %(ready)s of %(all)s.') % counted} {page.others}".strip()


def _shown(post: Post, lines: Iterable[str]) -> Shown:
    return Shown(title=post.cell.skill.plain, standing=post.shade, word=post.word, lines=tuple(lines))


def _ready_lines(post: Post) -> Iterator[str]:
    last = post.cell.last_day
    yield _("through %(last)s") % {"last": written(last)} if last else _("does not run out")
    if post.ends_soon:
        yield _("Ask your nurse to see it once more before then.")
    yield from post.why


def _to_do(post: Post) -> Iterator[str]:
    """What is still to be shown, and whether it may be practised; nothing while they are on pause."""
    if post.cell.on_pause:
        return
    yield from post.needs
    if post.cell.may_practise and not post.is_card and not post.asks_own_yes:
        yield _("You may practise this now, with a nurse beside you.")


def _turn(one: PlannedWith) -> Turn:
    return Turn(when=f"{written(one.day)}, {one.at}" if one.at else written(one.day), what=one.what, lines=one.lines)
