"""The steps: critical and measured ones on a screen each, the others as a list; and stopping."""

from __future__ import annotations

from collections import Counter
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.functional import cached_property
from django.utils.translation import gettext as _

from competency.records import Result, Stopped, Take
from competency.scoring import Outcome
from training.pages.recording import words
from training.pages.recording.addresses import draft_address, list_address, row_address, screen_address
from training.pages.recording.draft_view import DraftView
from training.pages.recording.forms import StepForm, StopForm
from training.pages.templatetags.register import STEP_WORDS
from training.standing import drafts
from training.standing.drafts import Row


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
        drafts.answer(self.draft, step=self.row.step.code, at=self.now, whose=self.whose, **form.cleaned_data)
        can_end_it = self.draft.data["purpose"] == "assessment" and self.whose is Take.LEAD
        if self.row.outside or (self.row.hurts and can_end_it):
            return redirect(f"{request.path}?seen")
        return self.go_on()

    def ask(self, form: StepForm) -> HttpResponse:
        return self.page("step", form=form, now=self.place, **self.about())

    def after(self) -> HttpResponse:
        outcome = self.attempt.best_outcome if self.whose is Take.LEAD else None
        rows = self.attempt.screens
        is_last = self.place == len(rows)
        following = screen_address(self.draft, self.place + 1, self.whose)
        onward = list_address(self.draft, self.whose) if is_last else following
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
            "here": screen_address(self.draft, self.place, self.whose),
            "back": screen_address(self.draft, self.place - 1, self.whose) if self.place > 1 else self.beginning(),
        }


_OTHERS = ("prompted", "assisted", "omitted", "not_seen", "not_applicable")


class Rest(DraftView):
    """The other steps. ``?step=`` asks one of them by itself; the list has "all others alone"."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.asked()
        if row is not None:
            return self.one(row, StepForm(row=row))
        if not self.attempt.rest:
            return self.go_on()
        return self.list()

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        row = self.asked()
        if row is not None:
            return self.answer(row)
        if "all" in request.POST:
            drafts.all_others_alone(self.draft, self.attempt, at=self.now)
            return redirect(list_address(self.draft, self.whose))
        if any(row.result is None for row in self.attempt.rest):
            return self.list(is_refused=True)
        return redirect("draft", draft=self.draft.public_id) if self.is_only_pass else self.go_on()

    @property
    def is_only_pass(self) -> bool:
        return self.draft.data["second"] is None

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
        drafts.answer(self.draft, step=row.step.code, at=self.now, whose=self.whose, **form.cleaned_data)
        return redirect(f"{list_address(self.draft, self.whose)}#step-{row.step.code}")

    def one(self, row: Row, form: StepForm) -> HttpResponse:
        trouble = self.last.at(row) if self.last else None
        results = ("independent", *(r for r in _OTHERS if r != Result.NOT_APPLICABLE or row.step.may_skip))
        return self.page(
            "one",
            row=row,
            form=form,
            trouble=trouble,
            last=self.last,
            results=results,
            back=list_address(self.draft, self.whose),
        )

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
            onward_is_outcome=self.whose is Take.SECOND or self.is_only_pass,
            back=screen_address(self.draft, len(screens), self.whose) if screens else self.beginning(),
        )


def _counts(rows: list[Row]) -> str:
    """7 independent · 1 prompted."""
    found = Counter(row.result for row in rows if row.result is not None)
    return " · ".join(f"{n} {str(STEP_WORDS[result]).lower()}" for result, n in found.items())


class Stop(DraftView):
    """For whose sake the attempt ends, who said so, and why. Reached by one touch, decided by a second."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        kept = self.draft.data.get("stop") or {"by": self.likely_by, "why": ""}
        return self.ask(StopForm(by=self.who_may_stop, initial={"stopped_by": kept["by"], "why": kept["why"]}))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        chosen = request.POST.get("whose", "")
        if chosen not in ("", "nobody", *Stopped):
            raise Http404
        form = StopForm(request.POST, by=self.who_may_stop)
        if not form.is_valid() or not chosen:
            return self.ask(form, problem="" if chosen else _("Choose for whose sake it stops, or go on."))
        drafts.stop(
            self.draft,
            self.lead_attempt,
            whose=None if chosen == "nobody" else Stopped(chosen),
            under_way=self.under_way(),
            by=form.cleaned_data["stopped_by"] or self.likely_by,
            why=form.cleaned_data["why"],
            at=self.now,
        )
        return self.go_on()

    def under_way(self) -> str | None:
        return self.request.GET.get("at") or None

    @property
    def is_seconds(self) -> bool:
        """Whether the step under way is one of the second observer's pass."""
        return self.request.GET.get("by") == Take.SECOND and self.draft.data["second"] is not None

    @property
    def likely_by(self) -> str:
        return "second" if self.is_seconds else "observer"

    @property
    def who_may_stop(self) -> list[tuple[str, str]]:
        return words.who_may_stop(self.draft)

    def ask(self, form: StopForm, problem: str = "") -> HttpResponse:
        lead = self.lead_attempt
        attempt = lead.second if self.is_seconds and lead.second else lead
        row = next((r for r in attempt.rows if r.step.code == self.under_way()), None)
        return self.page(
            "stop",
            form=form,
            row=row,
            problem=problem,
            back=row_address(self.draft, attempt, row) if row else draft_address(self.draft, lead),
            starts_again=attempt.edition.standard.restart_after_failure,
        )
