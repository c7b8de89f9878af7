"""The other organisation's record, to read and to take along; never mixed into this file."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.core.paginator import Paginator
from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from training.documents.record_words import RecordWords
from training.handover.keeping import pieces_of
from training.handover.received import ReceivedFile
from training.pages.family.attempts import attempt, steps
from training.pages.handover.taking_over import HandedOver
from training.pages.views import FamilyView
from training.pages.whole_file import whole_file
from training.people.access import Right
from training.records.models import Record

A_PAGE = 50


class ReceivedWords(RecordWords):
    """The words of the other organisation's records, from its own file: its programme's, and its members' names."""

    @cached_property
    def observers(self) -> dict[str, str]:
        file = self.picture.file
        return file.names if isinstance(file, ReceivedFile) else {}


class BesideView(HandedOver, FamilyView):
    right = Right.READ

    def find(self) -> None:
        _found = (self.family, self.came_from)

    @cached_property
    def words(self) -> ReceivedWords:
        return ReceivedWords(self.there)

    def common(self) -> dict[str, Any]:
        return {"family": self.family, "from_title": self.handover.data["from_title"], "handed_on": self.handed_on}


class HandoverRecords(BesideView):
    """All of its records in words, newest first, and whether the file still is what was handed over."""

    def get(self, request: HttpRequest, family: Any) -> HttpResponse:
        pages = Paginator(list(reversed(self.received.records)), A_PAGE)
        shown = pages.get_page(request.GET.get("page"))
        page = {
            **self.common(),
            "page": shown,
            "entries": [self.words.entry(r) for r in shown.object_list],
            "misfit": self.misfit(),
            "head": self.handover.data["head"],
        }
        return render(request, "handover/records.html", page)


class HandoverRecord(BesideView):
    """One of its records, with everything it says."""

    def get(self, request: HttpRequest, family: Any, number: int) -> HttpResponse:
        record = self.record
        is_shown = record.kind == "demonstration"
        page = {
            **self.common(),
            "record": record,
            "entry": self.words.entry(record),
            "lines": self.words.lines(record),
            "signed": record.data["signed"],
            "attempt": attempt(self.words, record) if is_shown else None,
            "steps": steps(self.words, record) if is_shown else [],
            "notice": self.there.words.notice,
        }
        return render(request, "handover/record.html", page)

    @property
    def record(self) -> Record:
        found = next((r for r in self.received.records if r.number == self.kwargs["number"]), None)
        if found is None:
            raise Http404
        return found


class HandoverFile(BesideView):
    """The file itself, byte for byte. Its name names nobody."""

    def get(self, request: HttpRequest, family: Any) -> FileResponse:
        name = f"record-handed-over-{self.handed_on}.jsonl"
        kind = "application/jsonl; charset=utf-8"
        return FileResponse(whole_file(pieces_of(self.came_from)), as_attachment=True, filename=name, content_type=kind)
