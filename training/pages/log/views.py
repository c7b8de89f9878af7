"""The log on a page, and as a file. It is read here and changed nowhere."""

from __future__ import annotations

import csv
import uuid
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _

from training.documents.csv_cells import csv_cell
from training.log import writing as log
from training.log.models import Entry, EntryQuerySet
from training.log.writing import About, about
from training.pages.asked import TOKEN, keep_asked, was_asked
from training.pages.log.asking import Asked, before, entries
from training.pages.log.words import sentence
from training.pages.setup.statements import skill_titles
from training.pages.views import MemberView
from training.pages.whole_file import whole_file
from training.people.access import Right
from training.people.models import Family

A_PAGE = 50


class LogView(MemberView):
    """The entries asked for: ``?family=`` is the id of one family, ``?asked=`` a token for words in the session."""

    right = Right.READ_LOG

    def reading(self) -> tuple[str, About | None]:
        return "log", about(self.family) if self.family else None

    @cached_property
    def family(self) -> Family | None:
        """The family of the address; 404 where it is none of this organisation's."""
        try:
            wanted = uuid.UUID(self.request.GET["family"]) if "family" in self.request.GET else None
        except ValueError:
            raise Http404 from None
        return get_object_or_404(Family.objects.visible_to(self.member), public_id=wanted) if wanted else None

    @cached_property
    def form(self) -> Asked:
        return Asked(was_asked(self.request, "log"))

    @property
    def rows(self) -> EntryQuerySet:
        asked = self.form.cleaned_data if self.form.is_valid() else {}
        return entries(self.member, asked, self.family.public_id if self.family else None)

    @cached_property
    def skills(self) -> dict[str, str]:
        return skill_titles(self.member)

    @property
    def zone(self) -> ZoneInfo:
        return ZoneInfo(self.member.organisation.time_zone)

    def query(self, **more: Any) -> str:
        kept = {"family": self.family.public_id if self.family else "", TOKEN: self.request.GET.get(TOKEN, ""), **more}
        found = urlencode({name: value for name, value in kept.items() if value})
        return f"?{found}" if found else ""


class Log(LogView):
    """Newest first, a page at a time."""

    over_families = True

    def get(self, request: HttpRequest) -> HttpResponse:
        return self.page(self.form)

    def post(self, request: HttpRequest) -> HttpResponse:
        """Keep what is looked for out of the address."""
        form = Asked(request.POST)
        if not form.is_valid():
            return self.page(form)
        token = keep_asked(request, "log", form.words)
        return redirect(f"{reverse('log')}{self.query(**{TOKEN: token})}")

    def page(self, form: Asked) -> HttpResponse:
        found = list(before(self.rows, self.older_than)[: A_PAGE + 1])
        page = {
            "form": form,
            "family": self.family,
            "entries": [self.shown(entry) for entry in found[:A_PAGE]],
            "older": self.query(before=found[A_PAGE - 1].pk) if len(found) > A_PAGE else "",
            "newest": self.query() or reverse("log") if self.older_than else "",
            "is_asked": bool(self.request.GET.get(TOKEN)),
            "csv": f"{reverse('log-csv')}{self.query()}",
            "here": self.query(),
            "zone": self.zone.key,
        }
        return render(self.request, "log/log.html", page)

    @cached_property
    def older_than(self) -> Entry | None:
        """The last entry of the page before; none where the address names none of this organisation's."""
        asked = self.request.GET.get("before", "")
        if not asked.isdecimal() or len(asked) > 18:
            return None
        return Entry.objects.visible_to(self.member).filter(pk=int(asked)).first()

    def shown(self, entry: Entry) -> dict[str, Any]:
        return {
            "entry": entry,
            "at": entry.at.astimezone(self.zone),
            "sentence": sentence(entry, self.skills),
            "is_record": entry.number is not None and bool(entry.about_name),
        }


class LogCsv(LogView):
    """All that was asked for as a file. Taking it is a deed, logged before the first line."""

    logs_itself = True
    HEAD = ("at", "kind", "what", "who", "role", "who id", "family", "about id", "record", "view")

    def get(self, request: HttpRequest) -> FileResponse:
        log.deed(
            organisation=self.member.organisation,
            what="log-exported",
            by=log.who(self.member),
            at=self.now,
            of=about(self.family) if self.family else None,
        )
        name = f"{_('log')}-{self.member.today(self.now)}.csv"
        file = whole_file(line.encode() for line in self.lines(self.rows.iterator()))
        return FileResponse(file, as_attachment=True, filename=name, content_type="text/csv; charset=utf-8")

    def lines(self, rows: Iterable[Entry]) -> Iterator[str]:
        writer = csv.writer(_Echo())
        yield "\ufeff"  # so that spreadsheets read it as UTF-8
        yield writer.writerow(self.HEAD)
        for entry in rows:
            yield writer.writerow([csv_cell(value) for value in self.cells(entry)])

    def cells(self, entry: Entry) -> tuple[object, ...]:
        return (
            entry.at.astimezone(self.zone).isoformat(timespec="seconds"),
            entry.kind,
            sentence(entry, self.skills),
            entry.who_name,
            entry.who_role,
            entry.who_id,
            entry.about_name,
            entry.about_id,
            entry.number,
            entry.view,
        )


class _Echo:
    """Gives a line back instead of keeping it."""

    def write(self, line: str) -> str:
        return line
