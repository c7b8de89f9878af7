"""A family on one day as the finished value that the packet is printed from."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import datetime

from django.utils.translation import gettext as _

from competency.records import in_force
from competency.standing import Standing
from training.documents.origins import origins_of, recorders_of, seen_by
from training.documents.packet import (
    AuthorisationLine,
    CaregiverBlock,
    ExceptionLine,
    FactLine,
    ItemLine,
    MissingLine,
    Packet,
    SignedLine,
    SkillLine,
)
from training.documents.record_words import Entry, RecordWords, exceptions_of, how_many_missing
from training.documents.through_time import bands_of
from training.people.models import Caregiver
from training.standing.questions import Cell, FamilyOn, MissingShown, item_state, written

StandingWord = Callable[[Standing, bool], object]

# What a reader of a signed-off skill need not be told again.
_PLAIN_WHEN_MET = frozenset({"passed", "gate", "gate_waived", "prerequisite", "authorisation"})


def packet_of(
    picture: FamilyOn,
    *,
    known_at: datetime,
    standing_word: StandingWord,
    verdict_word: Callable[[str], object],
    outcome_word: Callable[[str], object],
    words_of_records: RecordWords | None = None,
) -> Packet:
    """Gather everything that is printed. The words of standings, verdicts, outcomes are the pages', so given.

    known_at: the instant the file was read. words_of_records: where they are not those of the family's own file.
    """
    family, words = picture.family, picture.words
    told = words_of_records or RecordWords(picture)
    entries = [entry for entry in reversed(told.entries()) if entry.on <= picture.day]
    verdict = picture.verdict.value if picture.verdict else None
    word = str(verdict_word(verdict)) if verdict else ""
    return Packet(
        organisation=family.organisation.title,
        patient=family.patient_name,
        called=family.patient_called,
        born=family.patient_born,
        as_of=picture.day,
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        verdict=verdict,
        verdict_word=word,
        verdict_lines=tuple(_verdict_lines(picture, word)),
        exceptions=tuple(
            ExceptionLine(covers=x.title, by=f"{x.name}, {x.role}", reason=x.reason, last_day=x.through)
            for x in exceptions_of(picture.missing)
        ),
        missing=tuple(MissingLine(title=m.title, lines=tuple(_missing_lines(m))) for m in picture.missing),
        care_plan_since=told.day_of(picture.care_plan) if picture.care_plan else None,
        care_plan=tuple(FactLine(title=f.title, value=f.value, stated=f.is_stated) for f in picture.facts),
        caregivers=tuple(block_of(picture, c, standing_word) for c in picture.caregivers),
        team=tuple(_team(picture)),
        items=tuple(
            ItemLine(title=i.title, done_on=i.done_on, by=i.by, through=i.through, state=item_state(i, picture.day))
            for i in picture.items
        ),
        authorisations=tuple(_authorisations(picture)),
        signatures=tuple(signed_line(told, entry, outcome_word) for entry in entries),
        cautions=tuple(_cautions(picture)),
        notice=words.notice,
        chain_head=picture.file.head,
        chain_length=len(picture.file.records),
        bands=bands_of(picture, standing_word),
        recorders=recorders_of(entries),
        origins=origins_of(told, entries),
        programme=words.title,
        programme_head=picture.file.programme.version,
    )


def _verdict_lines(picture: FamilyOn, word: object) -> Iterator[str]:
    span = picture.verdict_span
    if span is None:
        yield _("There is no care plan on this day yet.")
        return
    said = {"word": word, "since": written(span.start)}
    if span.through is None:
        yield _("%(word)s since %(since)s.") % said
    else:
        said["through"] = written(span.through)
        yield _("%(word)s since %(since)s, through %(through)s if nothing more happens.") % said
    if picture.missing:
        yield how_many_missing(picture.missing)


def _missing_lines(missing: MissingShown) -> Iterator[str]:
    yield from missing.lines
    if missing.exception is not None:
        yield _("Covered by an exception.")


def block_of(
    picture: FamilyOn, caregiver: Caregiver, standing_word: Callable[[Standing, bool], object]
) -> CaregiverBlock:
    """One caregiver in every skill, with their sets and their days in the family."""
    held = picture.held_sets(caregiver)
    known = picture.history.caregivers[caregiver.case_id]
    return CaregiverBlock(
        name=caregiver.full_name,
        relation=caregiver.relation,
        sets=tuple(
            _("%(set)s: held") % {"set": picture.words.set(s)}
            if held.get(s)
            else _("%(set)s: not held") % {"set": picture.words.set(s)}
            for s in known.sets
        ),
        from_day=known.from_day,
        through_day=known.through,
        skills=tuple(_skill(cell, standing_word) for cell in picture.cells_of(caregiver)),
    )


def _skill(cell: Cell, standing_word: StandingWord) -> SkillLine:
    settled = cell.standing is Standing.SIGNED_OFF
    return SkillLine(
        title=cell.skill.title,
        standing=cell.standing.value if cell.standing else None,
        word=str(standing_word(cell.standing, cell.on_pause)) if cell.standing else _("no care plan"),
        last_day=cell.last_day,
        reasons=tuple(r.text for r in cell.reasons if not (settled and r.met and r.code in _PLAIN_WHEN_MET)),
        asked=cell.asked,
    )


def _team(picture: FamilyOn) -> Iterator[str]:
    if picture.team_met_by:
        yield _("The team rule is met: “%(name)s”.") % {"name": picture.team_met_by}
    for missing in picture.missing:
        if missing.kind == "team":
            yield from missing.lines
    for caregiver in picture.caregivers:
        sets = [picture.words.set(s) for s, held in picture.held_sets(caregiver).items() if held]
        if sets:
            yield _("%(name)s holds %(sets)s.") % {"name": caregiver.full_name, "sets": ", ".join(sets)}


def _authorisations(picture: FamilyOn) -> Iterator[AuthorisationLine]:
    """Those in force on the day."""
    for known in picture.history.known.authorisations:
        record = picture.file.record(known.id)
        if record is not None and in_force(known.from_day, known.through, picture.day):
            yield AuthorisationLine(
                skill=picture.words.skill(known.skill).title,
                prescriber=str(record.data.get("prescriber", "")),
                from_day=known.from_day,
                through_day=known.through,
            )


def signed_line(words: RecordWords, entry: Entry, outcome_word: Callable[[str], object]) -> SignedLine:
    """One record as a line of who signed what."""
    outcome = [f"{outcome_word(entry.outcome)}."] if entry.outcome else []
    watched = seen_by(words, entry)
    beside = [
        *([watched] if watched else []),
        *entry.followed,
        *entry.also,
        *([entry.late_words] if entry.voided and entry.late else []),
    ]
    said = [entry.what, *outcome] if outcome or not beside else [f"{entry.what}."]
    note = entry.voided.data["reason"] if entry.voided is not None else entry.late_words
    return SignedLine(
        number=entry.number,
        kind=entry.kind,
        on=entry.on,
        what=". ".join(said) + "".join(f" {line}" for line in beside),
        name=entry.name,
        role=entry.role,
        signed_at=entry.signed_at,
        note=note,
        voided_on=entry.voided_on,
    )


def _cautions(picture: FamilyOn) -> Iterator[str]:
    """The programme's own, of every skill that the care plan calls for."""
    for skill, cells in picture.rows:
        if any(cell.is_required for cell in cells):
            for caution in skill.cautions:
                yield _("%(skill)s: %(caution)s") % {"skill": skill.title, "caution": caution}
