"""A family's records: all of them in a list, and one with everything it says."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import Any

from django.core.paginator import Paginator
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from competency.scoring import Outcome
from training.documents.other_words import from_paper
from training.documents.record_words import Entry, RecordWords
from training.pages.family.attempts import attempt, steps
from training.pages.family.record_acts import next_acts
from training.pages.family.views import rights
from training.pages.views import FamilyView
from training.people.access import Right
from training.records.models import Record
from training.standing.file import FOR_GOOD

A_PAGE = 50
NEVER_VOIDED = frozenset({"void", "family", "caregiver"}) | FOR_GOOD


class RecordsView(FamilyView):
    """These pages show the file as known now; what became of an attempt is told as of today."""

    @cached_property
    def day(self) -> date:
        return self.today

    @cached_property
    def words(self) -> RecordWords:
        return RecordWords(self.picture)


class Records(RecordsView):
    """All records, newest first."""

    def get(self, request: HttpRequest, family: Any) -> HttpResponse:
        pages = Paginator(list(reversed(self.picture.records)), A_PAGE)
        shown = pages.get_page(request.GET.get("page"))
        page = {
            "family": self.family,
            "page": shown,
            "entries": [self.words.entry(r) for r in shown.object_list],
        }
        return render(request, "family/records.html", page)


class RecordPage(RecordsView):
    """One record. It is also what stands after signing."""

    @cached_property
    def record(self) -> Record:
        """The record of this number in this family's chain; 404 where there is none."""
        found = next((r for r in self.file.records if r.number == self.kwargs["number"]), None)
        if found is None:
            raise Http404
        return found

    def get(self, request: HttpRequest, family: Any, number: int) -> HttpResponse:
        entry = self.words.entry(self.record)
        page = {
            "family": self.family,
            "record": self.record,
            "entry": entry,
            "signed": self.record.data["signed"],
            "lines": self.words.lines(self.record),
            "about": self.words.by_intent.get(str(self.record.data.get("record", ""))),
            "mentions": self.mentions(),
            "comments": [self.words.entry(r) for r in self.words.comments(self.record)],
            "transcribed": self.transcribed(),
            "signed_with": self.signed_with(),
            "next": next_acts(self.record, entry, self.file, rights(self)),
            "person": self.person(),
            "may": rights(self),
            "may_void": entry.voided is None and self.may_void(),
            "notice": self.picture.words.notice,
            **self.demonstration(entry),
        }
        return render(request, "family/record.html", page)

    def mentions(self) -> list[Entry]:
        """Later records about this one: resolutions, overrides, its void."""
        wanted = str(self.record.intent)
        return [self.words.entry(r) for r in self.picture.records if r.data.get("record") == wanted]

    def transcribed(self) -> str:
        """Who saw and who typed what came from paper; nothing for what did not."""
        found = self.record.data.get("transcribed")
        return from_paper(found) if found else ""

    def signed_with(self) -> list[Entry]:
        """The other records of this file that the same signature covers."""
        intents = self.record.data["signed"].get("together", [])
        found = (self.words.by_intent.get(intent) for intent in intents if intent != str(self.record.intent))
        return [self.words.entry(r) for r in found if r is not None]

    def may_void(self) -> bool:
        """Whoever signed a record voids it while they may still write, or who decides; some kinds nobody does."""
        own = self.record.data["signed"]["id"] == self.member.observer_id
        writes = own and (self.may(Right.RECORD) or self.may(Right.SET_UP))
        return self.record.kind not in NEVER_VOIDED and (writes or self.may(Right.DECIDE))

    def person(self) -> Any:
        """The caregiver the record is about, where it is about one."""
        wanted = self.record.data.get("caregiver") or self.record.data.get("id")
        return next((c for c in self.file.caregivers if c.case_id == wanted), None)

    def demonstration(self, entry: Entry) -> dict[str, Any]:
        """What only a demonstration has: steps, outcome, and the deeds that may be done about it."""
        if self.record.kind != "demonstration":
            return {}
        judged = self.picture.judged(self.record)
        open_to_deeds = judged is not None and entry.voided is None
        return {
            "attempt": attempt(self.words, self.record),
            "steps": steps(self.words, self.record),
            "second": self.record.data.get("second"),
            "second_name": self.words.observer((self.record.data.get("second") or {}).get("observer", "")),
            "may_resolve": open_to_deeds and judged.outcome is Outcome.DISPUTED,
            "may_override": open_to_deeds
            and judged.outcome is Outcome.PASSED
            and not judged.full
            and not {"practice", "observer"} & set(judged.kept_out),
        }
