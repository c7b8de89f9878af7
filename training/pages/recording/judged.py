"""A draft as it would be judged were it signed now: what its outcome page and the page to sign show."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any

from competency.scoring import Outcome
from training.pages.recording import words
from training.pages.recording.addresses import row_address
from training.people.models import Member
from training.standing import deeds
from training.standing.drafts import Attempt, Row, observes_themself
from training.standing.file import FamilyFile
from training.standing.models import Draft
from training.standing.previews import Preview, preview
from training.standing.questions import FamilyOn
from training.standing.signing import shown_digest

_DUE = frozenset({Outcome.CRITICAL, Outcome.NOT_PASSED})


@dataclass(frozen=True, slots=True, kw_only=True)
class TwoSeen:
    """The two observers' outcomes side by side. differing: the steps they saw otherwise, the lead's row first."""

    member: Member | None
    is_qualified: bool
    lead: Outcome
    second: Outcome
    differing: tuple[tuple[Row, Row], ...]

    @property
    def outcomes_differ(self) -> bool:
        return self.lead is not self.second


class JudgedDraft:
    """file: the family's file the draft is judged in, which may hold other drafts as if they were signed."""

    def __init__(self, draft: Draft, file: FamilyFile, picture: FamilyOn, now: datetime) -> None:
        self.draft = draft
        self.file = file
        self.picture = picture
        self.now = now
        self.attempt = Attempt(picture.history, file.words, draft, now)

    @property
    def skill(self) -> Any:
        return self.file.words.skill(self.draft.data["skill"])

    @cached_property
    def body(self) -> dict[str, Any]:
        """What would be signed; results of steps that apply no longer go when the words are kept."""
        body = deeds.body_of(self.draft)
        codes = {step.code for step in self.attempt.steps}
        second = body["second"]
        return {
            **body,
            "results": {code: seen for code, seen in body["results"].items() if code in codes},
            "second": second
            and {**second, "results": {code: seen for code, seen in second["results"].items() if code in codes}},
        }

    @property
    def digest(self) -> str:
        return shown_digest(self.body)

    @cached_property
    def preview(self) -> Preview:
        """Raises RefusedError where the rules refuse the record."""
        return preview(self.file, self.draft.caregiver, self.body, self.draft.intent, self.now)

    # What the words for next time are asked by -------------------------------------------------------------

    @property
    def outcomes(self) -> list[Outcome]:
        """What each observer's results come to, the lead's first."""
        return [a.best_outcome for a in (self.attempt, self.attempt.second) if a is not None]

    @property
    def asks_line(self) -> bool:
        """Whether something went wrong, so that a line for next time is asked for."""
        troubled = self.attempt.troubled or (self.attempt.second and self.attempt.second.troubled)
        return bool(troubled) or any(outcome is not Outcome.PASSED for outcome in self.outcomes)

    @property
    def line_is_due(self) -> bool:
        """Whether it went so wrong that a line has to be agreed."""
        return self.draft.data["purpose"] == "assessment" and not _DUE.isdisjoint(self.outcomes)

    @property
    def is_ready(self) -> bool:
        """Whether nothing is left to answer or to agree before it can be signed."""
        return self.attempt.is_whole and not (self.line_is_due and not self.draft.data.get("reteach"))

    # The second observer -----------------------------------------------------------------------------------

    @cached_property
    def second_member(self) -> Member | None:
        return second_member(self.draft)

    @property
    def second_is_qualified(self) -> bool:
        second, skill = self.draft.data["second"], self.draft.data["skill"]
        return self.picture.history.observers.is_qualified(second["observer"], skill, self.attempt.day)

    @cached_property
    def two(self) -> TwoSeen | None:
        """Both observers' outcomes, where a second has answered."""
        second = self.attempt.second
        if second is None or second.missing:
            return None
        pairs = zip(self.attempt.rows, second.rows, strict=True)
        return TwoSeen(
            member=self.second_member,
            is_qualified=self.second_is_qualified,
            lead=self.attempt.best_outcome,
            second=second.best_outcome,
            differing=tuple((a, b) for a, b in pairs if (a.shown, a.value) != (b.shown, b.value)),
        )

    @property
    def observes_themself(self) -> bool:
        """Whether an account of an observer has become the caregiver's own."""
        watched = (self.draft.author, self.second_member)
        return any(m is not None and observes_themself(m, self.draft.caregiver) for m in watched)

    # In words ----------------------------------------------------------------------------------------------

    def shown(self) -> dict[str, Any]:
        """All that stands on the page about the draft. Raises RefusedError where the rules refuse the record."""
        data, attempt, judged = self.draft.data, self.attempt, self.preview.judged
        outcome = judged.outcome.value if judged else ""
        is_practice = judged is not None and bool({"practice", "observer"} & set(judged.kept_out))
        alone, applicable = attempt.counted
        return {
            "draft": self.draft,
            "caregiver": self.draft.caregiver,
            "skill": self.skill,
            "purpose": words.PURPOSES[data["purpose"]],
            "digest": self.digest,
            "attempt": attempt,
            "outcome": "practice" if is_practice else outcome,
            "outcome_seen": outcome if is_practice else "",
            "alone": alone,
            "applicable": applicable,
            "critical": [row for row in attempt.rows if row.step.critical],
            "pass_mark": attempt.edition.standard.pass_mark,
            "stopped": data["stopped"],
            "kept_out": words.kept_out(self.picture, judged) if judged else [],
            "brings": words.brings(self.preview),
            "rows": [self._row(row) for row in attempt.rows],
            "two": self.two,
            "set_as": self._set_as(),
            "said": words.said_around(data),
            "day": attempt.day,
            "began": date.fromisoformat(data["began"]) if data["began"] else None,
        }

    def _row(self, row: Row) -> dict[str, Any]:
        """A step, its limits in words, where it can be changed, and how the second observer saw it."""
        second = self.attempt.second
        return {
            "row": row,
            "limits": words.within(row.step.measure) if row.step.measure else "",
            "address": row_address(self.draft, self.attempt, row),
            "second": next((r for r in second.rows if r.step.code == row.step.code), None) if second else None,
        }

    def _set_as(self) -> str:
        data = self.draft.data
        patient = self.draft.caregiver.family.patient_called
        where = patient if data["setting"] == "patient" else words.SETTINGS[data["setting"]]
        parts = (where, words.ROLES[data["role"]], words.MODES[data["mode"]], words.PLACES[data["place"]])
        return ", ".join(str(part) for part in parts)


def second_member(draft: Draft) -> Member | None:
    """The second observer, a member of the same organisation."""
    if not draft.data["second"]:
        return None
    rows = Member.objects.filter(organisation=draft.caregiver.family.organisation_id).select_related("user")
    return rows.filter(public_id=draft.data["second"]["observer"]).first()
