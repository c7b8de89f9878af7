"""The families a member sees, one family, and one caregiver in one skill. All answer for one date."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils.http import urlencode

from training.curriculum.checks import CheckShown, shown
from training.curriculum.sentences import is_card
from training.documents.record_words import RecordWords, exceptions_of, how_many_missing, reteach_of
from training.log.writing import About, many
from training.pages.board.looking import PAGE
from training.pages.board.paging import page_asked
from training.pages.family import ahead, bands, grid
from training.pages.family.attempts import attempts
from training.pages.family.listing import Listing
from training.pages.family.own_words import paused, told_cards
from training.pages.family.planned import planned_ahead
from training.pages.family.readiness_band import readiness_band
from training.pages.family.together import together
from training.pages.family.what_if import what_if
from training.pages.views import FamilyView, MemberView
from training.people.access import Right
from training.people.reminding import is_watched
from training.standing.file import words_in
from training.standing.kit import kit
from training.standing.models import Draft
from training.standing.questions import Cell, signatures_missing

LAST_ENTRIES = 10
SOONEST = 6


def rights(view: MemberView) -> dict[str, bool]:
    """What this member may do, for the buttons of a page; each deed checks again."""
    return {right.value: view.may(right) for right in Right}


class Families(MemberView):
    """The families by name, each on its own today, a page at a time; and the drafts that wait for their signature."""

    right = Right.READ

    def get(self, request: HttpRequest) -> HttpResponse:
        closed = "closed" in request.GET
        listing = Listing(self.member, self.now, closed=closed)
        number, pages = page_asked(request, listing.number, PAGE)
        lines = listing.lines((number - 1) * PAGE, number * PAGE)
        planned = planned_ahead(line for line in lines if line.is_watched)
        page = {
            "rows": lines,
            "number": listing.number,
            "waiting": listing.waiting,
            "closed_count": listing.closed_count,
            "with_closed": closed,
            "page_number": number,
            "pages": pages,
            "earlier": _query(number - 1, closed=closed),
            "later": _query(number + 1, closed=closed),
            "drafts": self.drafts(closed=closed),
            "planned": planned[:SOONEST],
            "planned_later": planned[SOONEST:],
            "the_date": self.member.today(self.now),
            "may": rights(self),
        }
        self.shown = len(lines)
        return render(request, "family/families.html", page)

    def reading(self) -> tuple[str, About | None]:
        return "board", many(self.shown)

    def drafts(self, *, closed: bool) -> list[dict[str, Any]]:
        """Those of closed files only where closed files are asked for: after a death nothing is shown by itself."""
        rows = Draft.objects.visible_to(self.member).select_related(
            "caregiver__family__enrolment__programme", "caregiver__family__organisation"
        )
        return [_draft(d) for d in rows if closed or not d.caregiver.family.is_closed_on(self.today_of(d))]

    def today_of(self, draft: Draft) -> date:
        return draft.caregiver.family.today(self.now)


def _query(number: int, *, closed: bool) -> str:
    return f"?{urlencode({'closed': 'yes', 'page': number} if closed else {'page': number})}"


def _draft(draft: Draft) -> dict[str, Any]:
    family = draft.caregiver.family
    programme = family.enrolment.programme
    words = words_in(programme.pk, programme.version)
    return {
        "draft": draft,
        "family": family,
        "skill": words.skill(str(draft.data.get("skill", ""))).title,
        "changed": draft.changed_at.astimezone(family.zone),
    }


class FamilyPage(FamilyView):
    """A family: readiness and why, what comes next, the grid, the bands, the gates, the last entries."""

    def get(self, request: HttpRequest, family: Any) -> HttpResponse:
        picture = self.picture
        words = RecordWords(picture)
        entries = [e for e in words.entries() if self.day >= self.today or e.on <= self.day]
        watched = is_watched(self.family, self.day)
        coming = ahead.ahead(picture) if watched else []
        page = {
            **self.common(),
            "born": self.family.patient_born,
            "facts": grid.facts(picture),
            "plan_since": words.day_of(picture.care_plan) if picture.care_plan else None,
            "pauses": paused(picture),
            "told_cards": told_cards(picture),
            "exceptions": exceptions_of(picture.missing),
            "how_many": how_many_missing(picture.missing),
            "what_if": what_if(picture, self.request.GET, self.today) if watched else None,
            "coming": coming[:SOONEST],
            "coming_later": coming[SOONEST:],
            "practice": ahead.may_practise(picture) if watched else [],
            "is_watched": watched,
            "heads": grid.heads(picture),
            "rows": grid.rows(picture),
            "pictures": bands.pictures(picture),
            "readiness": readiness_band(picture),
            "gates": ahead.gates(picture),
            "together": together(words) if watched else None,
            "kit": kit(picture),
            "checks": self.checks(),
            "entries": entries[:LAST_ENTRIES],
            "count": len(picture.records),
        }
        return render(request, "family/family.html", page)

    def checks(self) -> list[CheckShown]:
        """What the programme computes beside the order in force on the date."""
        plan = self.picture.care_plan
        programme = self.family.enrolment.programme
        return shown(programme.about.get("checks"), self.picture.words, plan.data["facts"]) if plan else []

    def common(self) -> dict[str, Any]:
        """What every page of a family is given."""
        return {
            "family": self.family,
            "picture": self.picture,
            "the_date": self.day,
            "today": self.today,
            "on": f"?on={self.day.isoformat()}" if self.day != self.today else "",
            "may": rights(self),
            "is_closed": self.family.is_closed_on(self.day),
        }


class SkillPage(FamilyPage):
    """One caregiver in one skill on the date: why it stands so, the attempts, the spans, what can be done."""

    def get(self, request: HttpRequest, family: Any, caregiver: Any, skill: str) -> HttpResponse:
        # 404 first where the address names nobody or nothing of this family
        person, code = self.caregiver, self.skill
        if self.family.is_closed_on(self.day):
            return redirect("family", family=self.family.public_id)
        cell = self.picture.cells.get((person.case_id, code))
        body = grid.editions_on(self.file.programme.editions.filter(skill=code), self.day).get(code)
        page = {
            **self.common(),
            "caregiver": person,
            "skill": self.picture.words.skill(code),
            "cell": cell,
            "edition": body,
            "is_card": body is not None and is_card(body),
            "attempts": attempts(RecordWords(self.picture), person, code),
            "spans": list(self.picture.line(person, code)) if cell else [],
            "awaits_educator": cell is not None and "educator" in signatures_missing(self.picture, person, code),
            "last_trouble": self.last_trouble(cell),
        }
        return render(request, "family/skill.html", page)

    def last_trouble(self, cell: Cell | None) -> str:
        found = self.picture.last_trouble(cell.caregiver, cell.skill.code) if cell else None
        return reteach_of(found)[0] if found is not None else ""
