"""The board as a file: CSV, or a workbook. Every family that is asked for, in the board's order; text stays text."""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Iterator
from itertools import islice
from typing import Any

from django.db import transaction
from django.http import FileResponse, HttpRequest, HttpResponse
from django.utils.translation import gettext as _
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE

from training.documents.csv_cells import csv_cell
from training.log import writing as log
from training.pages.board.lines import Line
from training.pages.board.views import BoardView
from training.people.access import Right
from training.standing.models import Trouble

AT_ONCE = 500  # families read together
IN_MEMORY = 4_000_000  # bytes; a longer file waits on the disk, unnamed


class _Echo:
    """What csv writes to: it hands each line back."""

    def write(self, line: str) -> str:
        return line


class BoardFile(BoardView):
    """Taking it is a deed."""

    right = Right.EXPORT
    logs_itself = True
    gives_file = True
    over_families = True

    def get(self, request: HttpRequest, kind: str) -> HttpResponse | FileResponse:
        rows = self.rows()
        number = sum(self.looking.found_counts.values())
        log.deed(
            organisation=self.member.organisation,
            what="board-exported",
            by=log.who(self.member),
            at=self.now,
            of=log.many(number),
        )
        name = f"{_('families')}-{self.day}.{kind}"
        if kind == "xlsx":
            return FileResponse(_workbook(rows), as_attachment=True, filename=name)
        writer = csv.writer(_Echo())
        lines = [writer.writerow([csv_cell(value) for value in row]) for row in rows]
        headers = {"Content-Disposition": f'attachment; filename="{name}"'}
        return HttpResponse("\ufeff" + "".join(lines), content_type="text/csv; charset=utf-8", headers=headers)

    @transaction.atomic
    def rows(self) -> list[list[Any]]:
        titles = {programme.pk: programme.title for programme in self.programmes}
        return [_heads(), *(self._row(line, titles) for line in self._lines())]

    def _lines(self) -> Iterator[Line]:
        found = self.looking.asked.found().select_related("family__on_board").prefetch_related("family__caregivers")
        spans = found.iterator(chunk_size=AT_ONCE)
        while some := list(islice(spans, AT_ONCE)):
            yield from self.looking.lines(some)

    def _row(self, line: Line, titles: dict[int, str]) -> list[Any]:
        lapse = line.next_lapse if line.is_watched else None
        return [
            line.family.name,
            line.family.patient_name,
            titles[line.family.on_board.programme_id],
            line.family.site,
            _verdict(line),
            len(line.span.missing),
            "; ".join(one.title for one in line.missing) if line.span.missing else "",
            "; ".join(f"{x.title}: {x.name}, {x.through}, {x.reason}" for x in line.exceptions),
            line.span.team,
            line.span.filled,
            line.span.places,
            "; ".join(f"{title}: {number}" for title, number in line.ready),
            _yes(line.single),
            _yes(line.changed),
            line.span.falls_on,
            lapse.day if lapse else None,
            lapse.skill.title if lapse else "",
            lapse.caregiver.full_name if lapse else "",
            "; ".join(line.paused),
        ]


def _heads() -> list[str]:
    return [
        _("Family"), _("Patient"), _("Programme"), _("Site"), _("Readiness"), _("How many things are missing"),
        _("Missing"), _("Exceptions"), _("Way to meet the team rule"), _("Places filled"), _("Places"),
        _("Ready by set"), _("One person alone for the nights"), _("A change not shown again yet"), _("Not ready from"),
        _("Next lapse"), _("Skill"), _("Caregiver"), _("On pause"),
    ]  # fmt: skip


def _yes(value: bool) -> str:
    return _("yes") if value else _("no")


def _verdict(line: Line) -> str:
    if line.span.rank == Trouble.CLOSED:
        return _("Closed")
    if not line.is_watched:
        return _("Handed over")
    said = {"ready": _("Ready"), "ready_by_exception": _("Ready by exception"), "not_ready": _("Not ready")}
    return said.get(line.span.verdict, _("No verdict"))


def _workbook(rows: list[list[Any]]) -> Any:
    book = Workbook(write_only=True)
    sheet = book.create_sheet(_("Families"))
    for row in rows:
        sheet.append([_cell(sheet, value) for value in row])
    file = tempfile.SpooledTemporaryFile(max_size=IN_MEMORY)  # noqa: SIM115 - the answer closes it
    book.save(file)
    file.seek(0)
    return file


def _cell(sheet: Any, value: Any) -> Any:
    """Numbers and days as such; text as text, whatever it begins with."""
    if not isinstance(value, str):
        return value
    cell = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", csv_cell(value)))
    cell.data_type = "s"
    return cell
