"""The survey file: who was competent on a date, as known then and as known now. Values in; a PDF, or a zip of it, out.

The same survey gives the same bytes, of the PDF and of the zip.
"""

from __future__ import annotations

import csv
import io
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from itertools import groupby

from reportlab.platypus import Flowable

from training.documents.csv_cells import csv_cell
from training.documents.history_values import OriginLine
from training.documents.laying import DECIDES, brief, last, lay_out, letters, none, opened, said, sections
from training.documents.packet_history import origins
from training.documents.packet_values import grouped, instant
from training.documents.pdf.flowables import CELL, DIGEST, SMALL, SUBHEADING, Heading, Part, Text
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import A4, LETTER, keep_with_next
from training.documents.pdf.table import Cell, Column, Ledger
from training.documents.pdf.text import mark, pale, strong

__all__ = ["A4", "LETTER", "Known", "Survey", "SurveyLine", "render_survey", "zip_survey"]

COMPETENT = frozenset({"signed_off"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """A standing as it was known at one instant. standing: a key of MARKS; None where there was none."""

    standing: str | None
    word: str
    last_day: date | None = None

    @property
    def is_competent(self) -> bool:
        return self.standing in COMPETENT


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyLine:
    """One caregiver in one skill on the survey's date. then: None where the person was not known of."""

    caregiver: str
    relation: str
    skill: str
    asked: bool
    then: Known | None
    now: Known

    @property
    def differs(self) -> bool:
        return self.then != self.now


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """known_then: the end of the date, aware; known_at: when the file was read. verdicts: in words, then and now.

    lines: by caregiver. corrections: what was recorded after known_then and changes what is known of the date.
    """

    organisation: str
    patient: str
    as_of: date
    known_then: datetime
    known_at: datetime
    zone: str
    verdict_then: str
    verdict_now: str
    programme: str
    notice: str
    chain_head: str
    chain_length: int
    title: str = "Survey file"
    language: str = "en"
    lines: tuple[SurveyLine, ...] = ()
    corrections: tuple[OriginLine, ...] = ()


def render_survey(survey: Survey, pagesize: tuple[float, float] = A4, seal: Seal | None = None) -> bytes:
    """Return it as a tagged PDF (PDF/UA-1)."""
    return lay_out(survey, _story, pagesize, seal)


def _story(survey: Survey, undrawn: tuple[str, ...], width: float) -> list[Flowable]:
    story = [*opened(survey, undrawn), _about(survey), Text(strong(DECIDES)), _verdicts(survey)]
    story += sections([("Who was competent", _counts(survey))], width)
    for name, lines in groupby(survey.lines, key=lambda line: line.caregiver):
        story += keep_with_next(
            Heading(3, said(name), style=SUBHEADING, ruled=False), _person(name, list(lines)), width
        )
    told = f"Recorded after {instant(survey.known_then, survey.zone)}, about that date or one before it:"
    chain = f"Records in the file: {survey.chain_length}. The digest of the newest one:"
    closing: list[tuple[str, list[Flowable]]] = [
        ("What was corrected or recorded later", [Text(told), *_corrections(survey)]),
        ("Cautions", [Text(strong(said(survey.notice)))]),
        ("The file this was printed from", [Text(chain), Text(strong(grouped(survey.chain_head)), style=DIGEST)]),
        *letters(undrawn),
    ]
    return story + sections(closing, width)


def _about(survey: Survey) -> Text:
    return Text("Patient: ", strong(said(survey.patient)), f". Judged by the programme “{survey.programme}”.")


def _verdicts(survey: Survey) -> Ledger:
    columns = [Column("Known at", 5), Column("The programme’s rules said of this date", 5)]
    rows: list[list[Cell]] = [
        [f"then: {instant(survey.known_then, survey.zone)}", strong(said(survey.verdict_then, "no verdict"))],
        [f"now: {instant(survey.known_at, survey.zone)}", strong(said(survey.verdict_now, "no verdict"))],
    ]
    return Ledger(columns, rows)


def _counts(survey: Survey) -> list[Flowable]:
    if not survey.lines:
        return [none("No caregiver was in the file on this date.")]
    differing = sum(line.differs for line in survey.lines)
    told = "Competent means signed off: alone, with this patient, on this date."
    changed = f"Lines in which the two columns differ: {differing}; they are marked."
    return [Text(told, style=SMALL), Text(changed)]


def _person(name: str, lines: list[SurveyLine]) -> list[Flowable]:
    columns = [
        Column(f"Skill of {brief(name)}", 4), Column("As known then", 3.4), Column("As known now", 3.4),
        Column("Differs", 1.3),
    ]  # fmt: skip
    rows: list[list[Cell]] = [
        [_skill(line), _known(line.then), _known(line.now), strong("differs") if line.differs else pale("same")]
        for line in lines
    ]
    return [Text(f"Relation: {said(lines[0].relation)}."), Ledger(columns, rows)]


def _skill(line: SurveyLine) -> list[Text]:
    asked = [] if line.asked else [Text(pale("not asked of this person"), style=CELL)]
    return [Text(line.skill, style=CELL), *asked]


def _known(known: Known | None) -> list[Text]:
    if known is None:
        return [Text(pale("not known of"), style=CELL)]
    shape: list[Part] = [mark(known.standing)] if known.standing else []
    texts = [Text(*shape, strong(said(known.word, "no standing")), style=CELL)]
    if known.is_competent or known.last_day:
        texts.append(Text(f"last day: {last(known.last_day)}", style=CELL))
    return texts


def _corrections(survey: Survey) -> list[Flowable]:
    return origins(survey.corrections) if survey.corrections else [none("Nothing.")]


def zip_survey(survey: Survey, pdf: bytes) -> bytes:
    """Its PDF with two tables of the same: every cell is text that no spreadsheet runs."""
    found = io.BytesIO()
    with zipfile.ZipFile(found, "w", zipfile.ZIP_DEFLATED) as whole:
        for name, content in (
            ("survey.pdf", pdf),
            ("standings.csv", _csv(_standings(survey))),
            ("corrections.csv", _csv(_corrected(survey))),
        ):
            made = zipfile.ZipInfo(name, (1980, 1, 1, 0, 0, 0))
            made.compress_type = zipfile.ZIP_DEFLATED
            whole.writestr(made, content)
    return found.getvalue()


def _csv(rows: Iterable[Iterable[object]]) -> bytes:
    text = io.StringIO(newline="")
    csv.writer(text).writerows([csv_cell(cell) for cell in row] for row in rows)
    return text.getvalue().encode("utf-8", "replace")


def _standings(survey: Survey) -> Iterable[Iterable[object]]:
    yield (
        "date", "known then", "known now", "caregiver", "relation", "skill", "asked", "standing then",
        "last day then", "competent then", "standing now", "last day now", "competent now", "differs",
    )  # fmt: skip
    for line in survey.lines:
        then = line.then or Known(standing=None, word="not known of")
        yield (
            survey.as_of, survey.known_then.isoformat(), survey.known_at.isoformat(), line.caregiver, line.relation,
            line.skill, _yes(line.asked), then.word, then.last_day, _yes(then.is_competent),
            line.now.word, line.now.last_day, _yes(line.now.is_competent), _yes(line.differs),
        )  # fmt: skip


def _corrected(survey: Survey) -> Iterable[Iterable[object]]:
    yield ("record", "what", "correction", "by", "on", "reason")
    for line in survey.corrections:
        yield (line.number, line.what, line.how, line.by, line.on, line.why)


def _yes(value: bool) -> str:
    return "yes" if value else "no"
