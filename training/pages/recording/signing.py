"""From the last step to the record: the outcome and what it brings, the words for next time, the signature."""

from __future__ import annotations

from functools import cached_property
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils.formats import date_format
from django.utils.translation import gettext as _

from competency.fields import RefusedError
from training.pages.recording import words
from training.pages.recording.addresses import draft_address, next_row
from training.pages.recording.draft_view import DraftView, SignedAlreadyError, signed_already
from training.pages.recording.forms import SignForm, WordsForm
from training.pages.recording.judged import JudgedDraft
from training.records.appending import head_of
from training.standing import deeds, drafts
from training.standing.models import Draft
from training.standing.signing import MEANINGS


class JudgedView(DraftView):
    """A page that shows what the draft would be judged and bring about."""

    @cached_property
    def judged(self) -> JudgedDraft:
        return JudgedDraft(self.draft, self.file, self.picture, self.now)

    def judged_page(self, template: str, **page: Any) -> HttpResponse:
        try:
            shown = self.judged.shown()
            return self.page(template, **{**shown, "one": shown, "siblings": self.siblings(), **page})
        except RefusedError as refusal:
            self.leave_if_signed()
            return self.page("refused", problems=[str(p) for p in refusal.problems])

    def leave_if_signed(self) -> None:
        """Where the file refuses the draft because it is in there by now, from another tab or the same post."""
        record = signed_already(self.draft.intent, self.member)
        if record is not None:
            raise SignedAlreadyError(record)

    def siblings(self) -> int:
        """How many other drafts of this family the author has, which one password could sign too."""
        others = Draft.objects.visible_to(self.member).filter(caregiver__family=self.family).exclude(pk=self.draft.pk)
        return others.count()


class Outcome(JudgedView):
    """The draft as a whole: where it goes on, or the outcome and the words for next time."""

    @property
    def is_unfinished(self) -> bool:
        second = self.judged.attempt.second
        return bool(self.judged.attempt.missing or (second and second.missing))

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.is_unfinished:
            return self.unfinished()
        return self.judged_page("outcome", form=self.form())

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        if self.is_unfinished:
            messages.error(request, _("Some steps have no result yet. They are named here."))
            return self.unfinished()
        form = self.form(request.POST)
        if not form.is_valid():
            return self.judged_page("outcome", form=form)
        kept = form.cleaned_data
        drafts.keep_words(
            self.draft,
            self.judged.attempt,
            reteach=kept.get("reteach_line", ""),
            reteach_on=kept.get("reteach_on"),
            note=kept["note"],
            teach_back=kept["teach_back"],
            interpreter=kept["interpreter"],
            language=kept["language"],
            feels=kept["feels"],
            stop={"by": kept["stopped_by"], "why": kept["why"]} if kept.get("stopped_by") else None,
            at=self.now,
        )
        return redirect("draft-sign" if "sign" in request.POST else "draft", draft=self.draft.public_id)

    def unfinished(self) -> HttpResponse:
        attempt = self.judged.attempt
        second = attempt.second
        return self.page(
            "unfinished",
            rows=attempt.rows,
            missing=attempt.missing,
            second_rows=second.rows if second else [],
            second_missing=second.missing if second else [],
            next=next_row(attempt) or (next_row(second) if second else None),
            onward=draft_address(self.draft, attempt),
            stopped=self.draft.data["stopped"],
        )

    def form(self, *args: Any) -> WordsForm:
        data = self.draft.data
        reteach, interpreter, stop = (data.get(key) or {} for key in ("reteach", "interpreter", "stop"))
        kept = {
            "reteach_line": reteach.get("line", ""),
            "reteach_on": reteach.get("on"),
            "stopped_by": stop.get("by", "observer"),
            "why": stop.get("why", ""),
            "interpreter": interpreter.get("kind", ""),
            "language": interpreter.get("language", ""),
            **{key: data.get(key, "") for key in ("feels", "teach_back", "note")},
        }
        return WordsForm(
            *args,
            initial=kept,
            day=self.judged.attempt.day,
            is_asked=self.judged.asks_line,
            is_due=self.judged.line_is_due,
            stopped_by=words.who_may_stop(self.draft) if data["stopped"] else [],
        )


class Sign(JudgedView):
    """The whole text, and the password under it. What is signed is what was shown: its digest travels with the form."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.agree_first() if self.is_without_its_line else self.show(SignForm(user=request.user))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        form = SignForm(request.POST, user=request.user)
        self.draft  # noqa: B018  a signed one leads to its record, whatever the password
        if self.judged.observes_themself:
            form.add_error(None, _("You cannot observe yourself. Name another observer."))
        if not form.is_valid() or not self.judged.attempt.is_whole:
            return self.show(form)
        if self.is_without_its_line and request.POST.get("shown") == self.judged.digest:
            return self.agree_first()
        return self.sign(form)

    @property
    def is_without_its_line(self) -> bool:
        return self.judged.attempt.is_whole and not self.judged.is_ready

    def agree_first(self) -> HttpResponse:
        messages.error(self.request, _("A line for next time is agreed before this is signed."))
        return redirect("draft", draft=self.draft.public_id)

    def sign(self, form: SignForm) -> HttpResponse:
        shown = self.request.POST.get("shown", "")
        try:
            followed = [str(bring) for bring in words.brings(self.judged.preview)]
            record = deeds.sign_draft(draft=self.draft, by=self.member, shown=shown, at=self.now)
        except deeds.DraftMovedError:
            form.add_error(None, _("The text to sign has changed. It stands here as it is now; nothing was signed."))
            return self.show(form)
        except RefusedError as refusal:
            self.leave_if_signed()
            for problem in refusal.problems:
                form.add_error(None, f"{problem.path}: {problem.message}.")
            return self.show(form)
        messages.success(self.request, _("Signed. Record %(number)s is in the file.") % {"number": record.number})
        for line in followed:
            messages.success(self.request, line)
        return redirect("record", family=self.family.public_id, number=record.number)

    def show(self, form: SignForm) -> HttpResponse:
        if not self.judged.attempt.is_whole:
            messages.error(
                self.request, _("The steps of this attempt have changed. Look at them again before signing.")
            )
            return redirect("draft", draft=self.draft.public_id)
        about = {
            "form": form,
            "shown": self.judged.digest,
            "meaning": MEANINGS["demonstration"],
            "signed_as": self.member,
            "time": local_time(self),
            "number": head_of(self.family.public_id)[0] + 1,
        }
        return self.judged_page("sign", **about)


def local_time(view: Any) -> str:
    """The time a signature would carry now: 14 May 2026, 10:00, Europe/Oslo (UTC+02:00)."""
    local = view.now.astimezone(view.family.zone)
    offset = local.isoformat()[-6:]
    return f"{date_format(local, 'DATETIME_FORMAT')}, {view.family.time_zone} (UTC{offset})"


class Discard(DraftView):
    """Throw the draft away: asked first, done by a posted button."""

    def get(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        return self.page("discard", answered=len(self.draft.data["results"]))

    def post(self, request: HttpRequest, **kwargs: Any) -> HttpResponse:
        family = self.family.public_id
        self.draft.delete()
        messages.success(request, _("The draft is thrown away. Nothing was signed."))
        return redirect("family", family=family)
