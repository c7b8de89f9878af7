"""Published programmes, to read: what is asked, why, and every step of a checklist."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.translation import gettext_lazy as _

from training.curriculum.models import Edition, Programme
from training.curriculum.sentences import (
    conditions,
    edition_words,
    is_card,
    measure_words,
    need_words,
    standard_words,
)
from training.curriculum.words import Words
from training.pages.views import MemberView
from training.people.access import Right
from training.standing.file import words_in

GROUPS = {"routine": _("Routine"), "emergency": _("Emergency"), "integration": _("Putting it together")}
ROLES = {"lead": _("leading"), "assist": _("assisting")}


class ProgrammeView(MemberView):
    right = Right.READ

    @cached_property
    def programme(self) -> Programme:
        """The programme of the address, among this organisation's; 404 where there is none."""
        rows = Programme.objects.visible_to(self.member)
        return get_object_or_404(rows, public_id=self.kwargs["programme"])

    @cached_property
    def words(self) -> Words:
        return words_in(self.programme.pk, self.programme.version)


class Programmes(MemberView):
    right = Right.READ

    def get(self, request: HttpRequest) -> HttpResponse:
        rows = Programme.objects.visible_to(self.member).prefetch_related("enrolments")
        return render(
            request, "programme/programmes.html", {"programmes": rows, "may_publish": self.may(Right.PUBLISH)}
        )


class ProgrammePage(ProgrammeView):
    """A programme: its skills by group with their editions, sets, team rules, items."""

    def get(self, request: HttpRequest, programme: Any) -> HttpResponse:
        today = self.member.today(self.now)
        editions: dict[str, list[Edition]] = {}
        for edition in self.programme.editions.all():
            editions.setdefault(edition.skill, []).append(edition)
        skills = [
            {"words": words, "editions": [_edition(e) for e in editions.get(code, ())]}
            for code, words in self.words.skills.items()
        ]
        page = {
            "programme": self.programme,
            "words": self.words,
            "groups": [(title, [s for s in skills if s["words"].group == group]) for group, title in GROUPS.items()],
            "rules": [self._rules(r.body, r.in_force_from) for r in self.programme.rule_sets.all()],
            "today": today,
            "may_draft": self.may(Right.DRAFT),
        }
        return render(request, "programme/programme.html", page)

    def _rules(self, body: Mapping[str, Any], since: Any) -> dict[str, Any]:
        words = self.words
        return {
            "since": since,
            "sets": [
                (s["title"], ", ".join(words.skill(code).title for code in s["skills"])) for s in body["sets"].values()
            ],
            "team": [
                {
                    "name": rule["name"],
                    "people": [(p["count"], words.set(p["set"]), p.get("minimum_age")) for p in rule["people"]],
                    "source": rule.get("source", ""),
                }
                for rule in body.get("team", ())
            ],
            "items": body.get("items", ()),
            "note": body.get("change_note", ""),
        }


def _edition(edition: Edition) -> dict[str, Any]:
    body = edition.body
    needs = [need_words(need) for need in body["standard"].get("needs", ())]
    return {
        "number": edition.number,
        "since": edition.in_force_from,
        "is_card": is_card(body),
        "needs": "; ".join(needs),
        "steps": len(body.get("steps", ())),
    }


class Checklist(ProgrammeView):
    """One edition of one skill: its standard in words and its steps."""

    def get(self, request: HttpRequest, programme: Any, skill: str, number: int) -> HttpResponse:
        edition = get_object_or_404(self.programme.editions, skill=skill, number=number)
        body = edition.body
        page = {
            "programme": self.programme,
            "words": self.words,
            "skill": self.words.skill(skill),
            "edition": edition,
            "standard": standard_words(body),
            "rules": edition_words(body, self.words),
            "source": body.get("standard_source", ""),
            "note": body.get("change_note", ""),
            "steps": [self._step(place, step) for place, step in enumerate(body.get("steps", ()), start=1)],
        }
        return render(request, "programme/checklist.html", page)

    def _step(self, number: int, step: Mapping[str, Any]) -> dict[str, Any]:
        return {
            "number": number,
            "text": step["text"],
            "plain": step.get("plain", ""),
            "critical": step.get("critical", False),
            "may_skip": step.get("may_skip", False),
            "why": step.get("why", ""),
            "watch": step.get("watch", ""),
            "source": step.get("source", ""),
            "limits": measure_words(step.get("measure"), self.words),
            "roles": ", ".join(str(ROLES[r]) for r in ROLES if r in step.get("roles", ())),
            "when": conditions(step.get("applies_when"), self.words),
        }
