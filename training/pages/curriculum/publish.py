"""Publishing drafts in two steps: exactly who would stand elsewhere, then the password."""

from __future__ import annotations

import uuid
from datetime import date
from functools import cached_property
from typing import Any, TypedDict

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.generic import FormView

from competency.fields import RefusedError
from training.curriculum.drafting import is_skill
from training.curriculum.models import ProgrammeDraft
from training.curriculum.sentences import edition_words
from training.pages.curriculum.fields import long_words
from training.pages.curriculum.hub import said_problems
from training.pages.curriculum.parts import WritingView, title_of
from training.pages.forms import SignedForm
from training.pages.setup.fields import DayField
from training.people.access import Right
from training.people.models import Member
from training.records.appending import ChainMovedError
from training.records.models import Record
from training.standing import publishing
from training.standing.affected import Affected, affected
from training.standing.affected_facts import FactsAffected, facts_affected
from training.standing.deeds import DraftMovedError
from training.standing.proposing import Choice, Proposal, earliest_day, families_following
from training.standing.questions import written
from training.standing.signing import shown_digest, signed_by

OLDER = [
    ("stand", gettext_lazy("stand: who is signed off stays so")),
    ("recheck", gettext_lazy("are shown again: held from the first day until then")),
    ("recheck_by", gettext_lazy("are shown again by a day: held from the day after")),
]


class PublishForm(SignedForm):
    """Which drafts, from when, with which note, and what happens to older sign-offs. looking: before the password."""

    shown = forms.CharField(widget=forms.HiddenInput, required=False)
    drafts = forms.MultipleChoiceField(label=gettext_lazy("What is published"), widget=forms.CheckboxSelectMultiple)
    first_day = DayField(label=gettext_lazy("First day"))
    note = long_words(
        gettext_lazy("What changed, and why"),
        required=True,
        most=1000,
        rows=3,
        help_text=gettext_lazy("It is kept in the record and stands on the checklist’s page."),
    )

    def __init__(self, *args: Any, drafts: list[ProgrammeDraft], earliest: date, looking: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rows = {draft.skill or "*": draft for draft in drafts}
        self.fields["drafts"].choices = [(key, title_of(draft)) for key, draft in self.rows.items()]
        self.earliest = earliest
        self.fields["first_day"].help_text = _("%(day)s is the earliest: it has begun for nobody.") % {
            "day": written(earliest)
        }
        for key, draft in self.rows.items():
            if is_skill(draft) and draft.based_on is not None:
                self._add_older(key, title_of(draft))
            self.fields[f"version_{key}"] = forms.IntegerField(widget=forms.HiddenInput, initial=draft.version)
        if looking:
            self.ask_no_proof()
        else:
            self.prove_last()

    def _add_older(self, key: str, title: str) -> None:
        label = _("%(skill)s: sign-offs on older editions") % {"skill": title}
        self.fields[f"older_{key}"] = forms.ChoiceField(
            label=label, required=False, choices=OLDER, initial="stand", widget=forms.RadioSelect
        )
        self.fields[f"by_{key}"] = DayField(label=_("%(skill)s: shown again by") % {"skill": title}, required=False)

    def clean(self) -> dict[str, Any]:
        data = self.cleaned_data
        first = data.get("first_day")
        if first and first < self.earliest:
            self.add_error("first_day", _("This day has begun for somebody. %(day)s is the earliest.")
                           % {"day": written(self.earliest)})  # fmt: skip
        for key in data.get("drafts", ()):
            by = data.get(f"by_{key}")
            if data.get(f"older_{key}") == "recheck_by" and f"by_{key}" not in self.errors:
                if by is None:
                    self.add_error(f"by_{key}", _("Say by which day it is shown again."))
                elif first and by < first:
                    self.add_error(f"by_{key}", _("This is before the first day."))
        return data

    def choice(self) -> Choice:
        data = self.cleaned_data
        keys = data["drafts"]
        older = {self.rows[key].skill: self._older(key) for key in keys if f"older_{key}" in self.fields}
        return Choice(
            drafts={self.rows[key].skill: data[f"version_{key}"] for key in keys},
            first_day=data["first_day"],
            note=data["note"].strip(),
            older=older,
        )

    def _older(self, key: str) -> Any:
        chosen = self.cleaned_data[f"older_{key}"] or "stand"
        return {"recheck_by": self.cleaned_data[f"by_{key}"].isoformat()} if chosen == "recheck_by" else chosen

    def plain_fields(self) -> list[forms.BoundField]:
        return [self[name] for name in ("first_day", "note")]

    def parts(self) -> list[dict[str, Any]]:
        """Each draft with its own questions, for the page."""
        return [
            {
                "draft": draft,
                "older": self[f"older_{key}"] if f"older_{key}" in self.fields else None,
                "by": self[f"by_{key}"] if f"by_{key}" in self.fields else None,
            }
            for key, draft in self.rows.items()
        ]

    def typed(self) -> dict[str, Any]:
        return {name: self[name].value() for name in self.fields}


class Publish(WritingView, FormView):
    """What moved between the two steps is shown again, and nothing is signed."""

    right = Right.PUBLISH
    form_class = PublishForm
    template_name = "curriculum/publish.html"

    @property
    def looking(self) -> bool:
        return "sign" not in self.request.POST

    @cached_property
    def drafts(self) -> list[ProgrammeDraft]:
        return list(self.programme.drafts.select_related("changed_by__user"))

    @cached_property
    def earliest(self) -> date:
        return earliest_day(self.programme, self.now)

    def get_initial(self) -> dict[str, Any]:
        asked = self.request.GET.get("part")
        keys = [d.skill or "*" for d in self.drafts]
        return {"drafts": [asked] if asked in keys else keys if len(keys) == 1 else [], "first_day": self.earliest}

    def get_form_kwargs(self) -> dict[str, Any]:
        more = {"user": self.request.user, "drafts": self.drafts, "earliest": self.earliest, "looking": self.looking}
        return {**super().get_form_kwargs(), **more}

    def post(self, request: Any, *args: Any, **kwargs: Any) -> HttpResponse:
        there = self.written_before()
        return self.answer(there) if there else super().post(request, *args, **kwargs)

    def written_before(self) -> list[Record]:
        try:
            intent = uuid.UUID(self.request.POST.get("intent", ""))
        except ValueError:
            return []
        return list(Record.objects.of_chain(self.programme.public_id).filter(intent=intent))

    def form_valid(self, form: PublishForm) -> HttpResponse:
        try:
            proposal = publishing.proposal_of(self.programme, form.choice(), self.now)
            if proposal.problems:
                raise RefusedError(proposal.problems)
            touched = touched_by(proposal, self.member)
            digest = digest_of(proposal, touched)
            if self.looking or form.cleaned_data["shown"] != digest:
                return self.look(form, proposal, touched, digest)
            made = publishing.publish(
                programme=self.programme,
                choice=form.choice(),
                by=self.member,
                intent=form.cleaned_data["intent"],
                at=self.now,
            )
        except RefusedError as refusal:
            for said in said_problems(refusal.problems):
                form.add_error(None, said)
            return self.form_invalid(form)
        except DraftMovedError:
            return self.moved(form)
        except ChainMovedError:
            form.add_error(None, _("Somebody published at the same time. Nothing was signed; send it again."))
            return self.form_invalid(form)
        return self.answer(made)

    def look(self, form: PublishForm, proposal: Proposal, touched: Touched, digest: str) -> HttpResponse:
        """Show who is affected, and ask for the password."""
        kwargs = {**self.get_form_kwargs(), "looking": False, "data": None, "files": None}
        initial = {**form.typed(), "intent": form.cleaned_data["intent"], "shown": digest}
        again = PublishForm(**{**kwargs, "initial": initial})
        changed = not self.looking
        more = {**touched, "going": going(proposal), "changed": changed}
        return self.render_to_response(self.get_context_data(form=again, **more))

    def moved(self, form: PublishForm) -> HttpResponse:
        """A draft is another by now: the form again, on the versions that are there, from the first step."""
        data = self.request.POST.copy()
        for draft in self.drafts:
            data[f"version_{draft.skill or '*'}"] = str(draft.version)
        again = PublishForm(**{**self.get_form_kwargs(), "data": data, "looking": True})
        again.full_clean()
        again.add_error(None, _("A draft was changed after you opened this page. Nothing was published; look again."))
        return self.render_to_response(self.get_context_data(form=again))

    def form_invalid(self, form: PublishForm) -> HttpResponse:
        """Where only the password or the code was wrong, who is affected stays on the screen."""
        more = {}
        if form.lacks_only_proof:
            try:
                proposal = publishing.proposal_of(self.programme, form.choice(), self.now)
                more = {**touched_by(proposal, self.member), "going": going(proposal)}
            except (RefusedError, DraftMovedError):
                return self.moved(form)
        return self.render_to_response(self.get_context_data(form=form, **more))

    def answer(self, made: list[Record]) -> HttpResponse:
        day = next((date.fromisoformat(r.data["in_force_from"]) for r in made if "in_force_from" in r.data), None)
        messages.success(
            self.request, _("Published, in force from %(day)s.") % {"day": written(day)} if day else _("Published.")
        )
        return redirect("programme", self.programme.public_id)

    def get_context_data(self, **kwargs: Any) -> dict[str, Any]:
        more = {
            "signing": signed_by(self.member, kind="edition", at=self.now),
            "following": families_following(self.programme).count(),
            "earliest": self.earliest,
            "drafts": self.drafts,
        }
        return super().get_context_data(**self.page(**more), **kwargs)


class Touched(TypedDict):
    """Who stands elsewhere, and what is asked and computed otherwise; the second None where no facts are published."""

    affected: Affected
    facts: FactsAffected | None


def touched_by(proposal: Proposal, member: Member) -> Touched:
    """Raises RefusedError where the rules refuse the proposal."""
    return {"affected": affected(proposal, member), "facts": facts_affected(proposal, member)}


def going(proposal: Proposal) -> list[dict[str, Any]]:
    """What is about to be published, in words."""
    found = [
        {
            "title": proposal.words.skill(e.skill).title,
            "number": e.number,
            "older": edition_words(e.body, proposal.words)[-1] if e.number > 1 else "",
        }
        for e in proposal.new_editions
    ]
    found += [{"title": _("Sets, team and items"), "number": None, "older": ""} for _rules in proposal.new_rules]
    if proposal.drafted_facts is not None:
        found.append({"title": _("Facts, notice and checks"), "at_once": True, "older": ""})
    return found


def digest_of(proposal: Proposal, touched: Touched) -> str:
    """What stood on the screen: the drafts, the choice, and everybody it touches."""
    choice = proposal.choice
    body = {
        "drafts": dict(choice.drafts),
        "first_day": choice.first_day.isoformat(),
        "note": choice.note,
        "older": dict(choice.older),
        "affected": touched["affected"].said(),
        "facts": touched["facts"].said() if touched["facts"] else None,
    }
    return shown_digest(body)
