"""From the last step to the record: the outcome and what it brings, the words for next time, the signature."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from competency.fields import RefusedError
from competency.scoring import Outcome as Judgement
from training.pages.recording import words
from training.pages.recording.draft_view import DraftView, draft_address, next_row, row_address
from training.pages.recording.forms import SignForm, WordsForm
from training.records.appending import head_of
from training.standing import deeds, drafts
from training.standing.drafts import Row
from training.standing.previews import Preview, preview
from training.standing.signing import MEANINGS, shown_digest


class JudgedView(DraftView):
    """A page that shows what the draft would be judged and bring about."""

    @cached_property
    def body(self) -> dict[str, Any]:
        """What would be signed; results of steps that apply no longer go when the words are kept."""
        body = deeds.body_of(self.draft)
        codes = {step.code for step in self.attempt.steps}
        return {**body, "results": {code: seen for code, seen in body["results"].items() if code in codes}}

    @cached_property
    def is_whole(self) -> bool:
        """Every step that applies has a result, and nothing else has."""
        return {step.code for step in self.attempt.steps} == set(self.draft.data["results"])

    @cached_property
    def preview(self) -> Preview:
        """Raises RefusedError where the rules refuse the record."""
        return preview(self.file, self.draft.caregiver, self.body, self.draft.intent, self.now)

    def judged_page(self, template: str, **page: Any) -> HttpResponse:
        attempt, seen = self.attempt, self.preview
        judged = seen.judged
        alone, applicable = attempt.counted
        shown = judged.outcome.value if judged else ""
        is_practice = judged is not None and bool({"practice", "observer"} & set(judged.kept_out))
        return self.page(
            template,
            attempt=attempt,
            outcome="practice" if is_practice else shown,
            outcome_seen=shown if is_practice else "",
            alone=alone,
            applicable=applicable,
            critical=[row for row in attempt.rows if row.step.critical],
            pass_mark=attempt.edition.standard.pass_mark,
            stopped=self.draft.data["stopped"],
            kept_out=words.kept_out(self.picture, judged) if judged else [],
            brings=words.brings(seen),
            rows=[self.row_shown(row) for row in attempt.rows],
            set_as=self.set_as(),
            **page,
        )

    def row_shown(self, row: Row) -> tuple[Row, str, str]:
        """A step, its limits in words, and where it can be changed."""
        limits = words.within(row.step.measure) if row.step.measure else ""
        return row, limits, row_address(self.draft, self.attempt, row)

    def set_as(self) -> str:
        data = self.draft.data
        where = self.family.patient_called if data["setting"] == "patient" else words.SETTINGS[data["setting"]]
        parts = (where, words.ROLES[data["role"]], words.MODES[data["mode"]], words.PLACES[data["place"]])
        return ", ".join(str(part) for part in parts)


class Outcome(JudgedView):
    """The draft as a whole: where it goes on, or the outcome and the words for next time."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.attempt.missing:
            return self.unfinished()
        return self.show(self.form())

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.attempt.missing:
            messages.error(request, _("Some steps have no result yet. They are named here."))
            return self.unfinished()
        form = self.form(request.POST)
        if not form.is_valid():
            return self.show(form)
        kept = form.cleaned_data
        drafts.keep_words(
            self.draft,
            self.attempt,
            reteach=kept.get("reteach_line", ""),
            reteach_on=kept.get("reteach_on"),
            note=kept["note"],
            at=self.now,
        )
        return redirect("draft-sign" if "sign" in request.POST else "draft", draft=self.draft.public_id)

    def unfinished(self) -> HttpResponse:
        attempt = self.attempt
        return self.page(
            "unfinished",
            rows=attempt.rows,
            missing=attempt.missing,
            next=next_row(attempt),
            onward=draft_address(self.draft, attempt),
            stopped=self.draft.data["stopped"],
        )

    def form(self, *args: Any) -> WordsForm:
        data = self.draft.data
        reteach = data.get("reteach") or {}
        kept = {"reteach_line": reteach.get("line", ""), "reteach_on": reteach.get("on"), "note": data.get("note", "")}
        outcome = self.attempt.best_outcome
        is_assessment = data["purpose"] == "assessment"
        return WordsForm(
            *args,
            initial=kept,
            day=self.attempt.day,
            is_asked=bool(self.attempt.troubled) or outcome is not Judgement.PASSED,
            is_due=is_assessment and outcome in (Judgement.CRITICAL, Judgement.NOT_PASSED),
        )

    def show(self, form: WordsForm) -> HttpResponse:
        try:
            return self.judged_page("outcome", form=form)
        except RefusedError as refusal:
            return self.page("refused", problems=[str(p) for p in refusal.problems])


class Sign(JudgedView):
    """The whole text, and the password under it. What is signed is what was shown: its digest travels with the form."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.show(SignForm(user=request.user))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = SignForm(request.POST, user=request.user)
        self.draft  # noqa: B018  a signed one leads to its record, whatever the password
        if drafts.observes_themself(self.member, self.draft.caregiver):
            form.add_error(None, _("You cannot observe yourself. Name another observer."))
        if not form.is_valid() or not self.is_whole:
            return self.show(form)
        return self.sign(form)

    def sign(self, form: SignForm) -> HttpResponse:
        shown = self.request.POST.get("shown", "")
        try:
            followed = [str(bring) for bring in words.brings(self.preview)]
            record = deeds.sign_draft(draft=self.draft, by=self.member, shown=shown, at=self.now)
        except deeds.DraftMovedError:
            form.add_error(None, _("The text to sign has changed. It stands here as it is now; nothing was signed."))
            return self.show(form)
        except RefusedError as refusal:
            for problem in refusal.problems:
                form.add_error(None, f"{problem.path}: {problem.message}.")
            return self.show(form)
        messages.success(self.request, _("Signed. Record %(number)s is in the file.") % {"number": record.number})
        for line in followed:
            messages.success(self.request, line)
        return redirect("record", family=self.family.public_id, number=record.number)

    def show(self, form: SignForm) -> HttpResponse:
        if not self.is_whole:
            messages.error(
                self.request, _("The steps of this attempt have changed. Look at them again before signing.")
            )
            return redirect("draft", draft=self.draft.public_id)
        reteach = self.draft.data.get("reteach") or {}
        about = {
            "form": form,
            "shown": shown_digest(self.body),
            "meaning": MEANINGS["demonstration"],
            "signed_as": self.member,
            "time": self.local_time(),
            "number": head_of(self.family.public_id)[0] + 1,
            "day": self.attempt.day,
            "began": date.fromisoformat(self.draft.data["began"]) if self.draft.data["began"] else None,
            "reteach": reteach,
            "reteach_on": date.fromisoformat(reteach["on"]) if reteach.get("on") else None,
        }
        try:
            return self.judged_page("sign", **about)
        except RefusedError as refusal:
            return self.page("refused", problems=[str(p) for p in refusal.problems])

    def local_time(self) -> str:
        """The time a signature would carry now: 14 May 2026, 10:00, Europe/Oslo (UTC+02:00)."""
        local = self.now.astimezone(self.family.zone)
        offset = local.isoformat()[-6:]
        return f"{date_format(local, 'DATETIME_FORMAT')}, {self.family.time_zone} (UTC{offset})"


class Discard(DraftView):
    """Throw the draft away: asked first, done by a posted button."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.page("discard", answered=len(self.draft.data["results"]))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        family = self.family.public_id
        self.draft.delete()
        messages.success(request, _("The draft is thrown away. Nothing was signed."))
        return redirect("family", family=family)
