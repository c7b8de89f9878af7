"""One skill of one caregiver on one day as the finished value that a blank checklist is printed from."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.programme import Edition, Role, Step
from competency.records import Result
from training.curriculum.sentences import fitted_words
from training.documents.checklist_values import Checklist, Choice, StepLine
from training.documents.packet_values import FactLine
from training.documents.record_labels import INTERPRETERS, VALUES
from training.people.models import Caregiver
from training.standing.questions import FamilyOn

LAST_SECOND = 24 * 3600 - 1


class NoChecklistError(Exception):
    """On that day no edition with steps is in force: there is nothing to print."""


def checklist_of(
    picture: FamilyOn,
    caregiver: Caregiver,
    skill: str,
    *,
    known_at: datetime,
    address: Callable[[int], str],
    result_word: Callable[[str], object],
    with_names: bool = True,
) -> Checklist:
    """Gather everything that is printed for the picture's day, with the care plan as known now.

    address: of the form that an edition's paper is typed into. result_word: the pages' words of results, so given.
    Raises NoChecklistError.
    """
    edition = picture.history.known.programme.skills[skill].in_force(picture.day)
    if edition is None or not edition.steps:
        raise NoChecklistError(skill)
    family, words = picture.family, picture.words.skill(skill)
    return Checklist(
        organisation=family.organisation.title,
        skill=words.title,
        edition=edition.number,
        family=family.name if with_names else "",
        caregiver=caregiver.called if with_names else "",
        on=picture.day,
        known_at=known_at.astimezone(family.zone),
        zone=family.time_zone,
        care_plan=tuple(_facts(picture, edition)),
        steps=tuple(_steps(picture, skill, edition, known_at)),
        results=tuple(str(result_word(result.value)) for result in Result),
        choices=tuple(_choices()),
        stops=Choice(title=_("Stopped"), answers=(_("no"), *_words(VALUES["stopped"]))),
        interpreters=Choice(title=_("Interpreter"), answers=_words(INTERPRETERS)),
        feels=Choice(title=_("The caregiver says"), answers=_words(VALUES["feels"])),
        cautions=words.cautions,
        notice=picture.words.notice,
        address=address(edition.number),
    )


def _facts(picture: FamilyOn, edition: Edition) -> Iterator[FactLine]:
    """What the care plan says that this edition asks about."""
    for fact in picture.facts:
        if fact.code in edition.asks or fact.code in edition.on_change:
            yield FactLine(title=fact.title, value=fact.value, stated=fact.is_stated)


def _steps(picture: FamilyOn, skill: str, edition: Edition, known_at: datetime) -> Iterator[StepLine]:
    """The steps that apply to whoever leads or assists, in the edition's order and by its numbers."""
    facts = picture.history.known.scoring_facts.facts(picture.day, LAST_SECOND, known_at)
    asked = {role: {step.code for step in edition.steps_for(role, facts)} for role in (Role.LEAD, Role.ASSIST)}
    for number, step in enumerate(edition.steps, 1):
        roles = [role for role, codes in asked.items() if step.code in codes]
        if roles:
            yield _step(picture, skill, edition.number, step.fitted(facts), number, roles)


def _step(picture: FamilyOn, skill: str, edition: int, step: Step, number: int, roles: list[Role]) -> StepLine:
    words = picture.words.step(skill, edition, step.code)
    return StepLine(
        number=number,
        text=words["text"],
        critical=step.critical,
        may_skip=step.may_skip,
        only=str(_ONLY[roles[0]]) if len(roles) == 1 else "",
        limits=fitted_words(step.measure) if step.measure else "",
        unit=step.measure.unit if step.measure else "",
    )


_ONLY = {
    Role.LEAD: gettext_lazy("Only where the caregiver leads."),
    Role.ASSIST: gettext_lazy("Only where the caregiver assists."),
}


def _choices() -> Iterator[Choice]:
    titles = {
        "purpose": _("Chosen before the first step"),
        "role": _("The caregiver is"),
        "setting": _("Seen"),
        "mode": _("Watched"),
        "place": _("Where"),
    }
    for key, title in titles.items():
        yield Choice(title=title, answers=_words(VALUES[key]))


def _words(values: Mapping[str, Any]) -> tuple[str, ...]:
    return tuple(str(word) for word in values.values())
