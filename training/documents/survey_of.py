"""A family on one date, as known at the end of that date and as known now, side by side."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime, time, timedelta

from django.utils.translation import gettext as _

from competency.standing import Standing
from training.documents.history_values import OriginLine
from training.documents.record_words import RecordWords
from training.documents.survey import Known, Survey, SurveyLine
from training.records.models import Record
from training.standing.questions import Cell, FamilyOn


def survey_of(
    now: FamilyOn,
    *,
    known_at: datetime,
    standing_word: Callable[[Standing, bool], object],
    verdict_word: Callable[[str], object],
) -> Survey:
    """now: the family on the date, with everything recorded. known_at: the instant the file was read."""
    family = now.family
    known_then = end_of(now, known_at)
    then = FamilyOn(now.file, now.day, known_then)
    return Survey(
        organisation=family.organisation.title,
        patient=family.patient_name,
        as_of=now.day,
        known_then=known_then.astimezone(family.zone),
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        verdict_then=str(verdict_word(then.verdict.value)) if then.verdict else "",
        verdict_now=str(verdict_word(now.verdict.value)) if now.verdict else "",
        programme=now.words.title,
        notice=now.words.notice,
        chain_head=now.file.head,
        chain_length=len(now.file.records),
        lines=tuple(_lines(then, now, standing_word)),
        corrections=tuple(corrections_of(now, known_then)),
    )


def end_of(picture: FamilyOn, known_at: datetime) -> datetime:
    """The last instant of the picture's day where the patient is; the present, while that day is not over."""
    if picture.day >= picture.family.today(known_at):
        return known_at
    midnight = datetime.combine(picture.day + timedelta(days=1), time.min, picture.family.zone)
    return midnight - timedelta(microseconds=1)


def _lines(then: FamilyOn, now: FamilyOn, word: Callable[[Standing, bool], object]) -> Iterator[SurveyLine]:
    for caregiver in now.caregivers:
        for cell in now.cells_of(caregiver):
            before = then.cells.get((caregiver.case_id, cell.skill.code))
            yield SurveyLine(
                caregiver=caregiver.full_name,
                relation=caregiver.relation,
                skill=cell.skill.title,
                asked=cell.asked,
                then=_known(before, word) if before else None,
                now=_known(cell, word),
            )


def _known(cell: Cell, word: Callable[[Standing, bool], object]) -> Known:
    return Known(
        standing=cell.standing.value if cell.standing else None,
        word=str(word(cell.standing, cell.on_pause)) if cell.standing else _("no care plan"),
        last_day=cell.last_day,
    )


# What was recorded afterwards -----------------------------------------------------------------------------

_ABOUT_ANOTHER = frozenset({"void", "resolution", "override"})


def corrections_of(picture: FamilyOn, instant: datetime) -> Iterator[OriginLine]:
    """What was recorded after an instant about the picture's day or one before it, staff's qualifications too."""
    words = RecordWords(picture)
    for record in picture.records:
        if record.recorded_at <= instant:
            continue
        about = words.by_intent.get(record.data["record"]) if record.kind in _ABOUT_ANOTHER else record
        if about is not None and words.day_of(about) <= picture.day:
            yield _line(words, record, about)
    yield from _qualifications(words, picture, instant)


def _line(words: RecordWords, record: Record, about: Record) -> OriginLine:
    late = record is about
    return OriginLine(
        number=about.number,
        what=f"{words.kind(about)}: {words.what(about)}",
        how=_("Recorded later") if late else words.kind(record),
        by=record.data["signed"]["name"],
        on=words.recorded_on(record),
        why=words.entry(record).late_words if late else record.data.get("reason", ""),
    )


def _qualifications(words: RecordWords, picture: FamilyOn, instant: datetime) -> Iterator[OriginLine]:
    staff = picture.file.staff_records
    stated = {str(r.intent): r for r in staff if r.kind == "qualification"}
    for record in staff:
        about = stated.get(record.data.get("record", str(record.intent)))
        if about is None or record.recorded_at <= instant or words.day_of(about) > picture.day:
            continue
        skill = about.data["skill"]
        said = {
            "name": words.observer(about.data["observer"]),
            "skill": picture.words.skill(skill).title if skill else _("every skill"),
        }
        yield OriginLine(
            number=about.number,
            what=_("Qualification of %(name)s, in the organisation’s own file: %(skill)s") % said,
            how=_("Recorded later") if record is about else _("Voided"),
            by=record.data["signed"]["name"],
            on=words.recorded_on(record),
            why=record.data.get("reason", ""),
        )
