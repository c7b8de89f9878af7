"""The steps: critical and measured ones on a screen each, the others as a list; and stopping."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils.functional import cached_property
from django.utils.translation import gettext as _

from competency.records import Result, Stopped
from competency.scoring import Outcome
from training.pages.recording import words
from training.pages.recording.draft_view import DraftView, draft_address, row_address
from training.pages.recording.forms import StepForm
from training.pages.templatetags.register import STEP_WORDS
from training.standing import drafts
from training.standing.drafts import Attempt, Row


class Step(DraftView):
    """One critical or measured step. ``?seen`` is the moment after an answer that changes what this can become."""

    @cached_property
    def place(self) -> int:
        if not 1 <= self.kwargs["place"] <= len(self.attempt.screens):
            raise Http404
        return int(self.kwargs["place"])

    @property
    def row(self) -> Row:
        return self.attempt.screens[self.place - 1]

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if "seen" in request.GET and self.row.result is not None:
            return self.after()
        return self.ask(StepForm(row=self.row, initial={"value": self.row.value}))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = StepForm(request.POST, row=self.row)
        if not form.is_valid():
            return self.ask(form)
        drafts.answer(self.draft, step=self.row.step.code, at=self.now, **form.cleaned_data)
        if self.row.outside or (self.row.hurts and self.draft.data["purpose"] == "assessment"):
            return redirect(f"{request.path}?seen")
        return self.go_on()

    def ask(self, form: StepForm) -> HttpResponse:
        return self.page("step", form=form, now=self.place, **self.about())

    def after(self) -> HttpResponse:
        outcome = self.attempt.best_outcome
        rows = self.attempt.screens
        onward = _screen(self.draft, self.place + 1) if self.place < len(rows) else _to(self.draft, "draft-rest")
        return self.page(
            "step_seen",
            is_critical_now=outcome is Outcome.CRITICAL,
            is_incomplete_now=outcome is Outcome.INCOMPLETE,
            onward=onward,
            **self.about(),
        )

    def about(self) -> dict[str, Any]:
        row, rows = self.row, self.attempt.screens
        measure = row.step.measure
        return {
            "row": row,
            "place": self.place,
            "of": len(rows),
            "marks": rows,
            "within": words.within(measure) if measure else "",
            "trouble": self.last.at(row) if self.last else None,
            "last": self.last,
            "others": [r for r in _OTHERS if r != Result.NOT_APPLICABLE or row.step.may_skip],
            "back": _screen(self.draft, self.place - 1) if self.place > 1 else _to(self.draft, "draft"),
        }


_OTHERS = ("prompted", "assisted", "omitted", "not_seen", "not_applicable")


def _screen(draft: drafts.Draft, place: int) -> str:
    return reverse("draft-step", kwargs={"draft": draft.public_id, "place": place})


def _to(draft: drafts.Draft, name: str) -> str:
    return reverse(name, kwargs={"draft": draft.public_id})


class Rest(DraftView):
    """The other steps. ``?step=`` asks one of them by itself; the list has "all others alone"."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.asked()
        if row is not None:
            return self.one(row, StepForm(row=row))
        if not self.attempt.rest:
            return redirect("draft", draft=self.draft.public_id)
        return self.list()

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.asked()
        if row is not None:
            return self.answer(row)
        if "all" in request.POST:
            drafts.all_others_alone(self.draft, self.attempt, at=self.now)
            return redirect("draft-rest", draft=self.draft.public_id)
        if any(row.result is None for row in self.attempt.rest):
            return self.list(is_refused=True)
        return redirect("draft", draft=self.draft.public_id)

    def asked(self) -> Row | None:
        """The step the address names, if it is one of the list."""
        code = self.request.GET.get("step")
        if code is None:
            return None
        row = next((r for r in self.attempt.rest if r.step.code == code), None)
        if row is None:
            raise Http404
        return row

    def answer(self, row: Row) -> HttpResponse:
        form = StepForm(self.request.POST, row=row)
        if not form.is_valid():
            return self.one(row, form)
        drafts.answer(self.draft, step=row.step.code, at=self.now, **form.cleaned_data)
        return redirect(f"{_to(self.draft, 'draft-rest')}#step-{row.step.code}")

    def one(self, row: Row, form: StepForm) -> HttpResponse:
        trouble = self.last.at(row) if self.last else None
        results = ("independent", *(r for r in _OTHERS if r != Result.NOT_APPLICABLE or row.step.may_skip))
        return self.page("one", row=row, form=form, trouble=trouble, last=self.last, results=results)

    def list(self, *, is_refused: bool = False) -> HttpResponse:
        attempt, rows = self.attempt, self.attempt.rest
        screens = attempt.screens
        missing = [row for row in rows if row.result is None]
        return self.page(
            "rest",
            rows=[(row, self.last.at(row) if self.last else None) for row in rows],
            missing=missing,
            is_refused=is_refused,
            marks=screens,
            counts=_counts(rows),
            back=_screen(self.draft, len(screens)) if screens else _to(self.draft, "draft"),
        )


def _counts(rows: list[Row]) -> str:
    """7 independent · 1 prompted."""
    found = Counter(row.result for row in rows if row.result is not None)
    return " · ".join(f"{n} {str(STEP_WORDS[result]).lower()}" for result, n in found.items())


class Stop(DraftView):
    """For whose sake the attempt ends. Reached by one touch, decided by a second."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.ask()

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        chosen = request.POST.get("whose", "")
        if chosen not in ("", "nobody", *Stopped):
            raise Http404
        if not chosen:
            return self.ask(problem=_("Choose for whose sake it stops, or go on."))
        whose = None if chosen == "nobody" else Stopped(chosen)
        drafts.stop(self.draft, self.attempt, whose=whose, under_way=self.under_way(), at=self.now)
        return self.go_on()

    def under_way(self) -> str | None:
        return self.request.GET.get("at") or None

    def ask(self, problem: str = "") -> HttpResponse:
        attempt: Attempt = self.attempt
        row = next((r for r in attempt.rows if r.step.code == self.under_way()), None)
        return self.page(
            "stop",
            row=row,
            problem=problem,
            back=row_address(self.draft, attempt, row) if row else draft_address(self.draft, attempt),
            starts_again=attempt.edition.standard.restart_after_failure,
        )
