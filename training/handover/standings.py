"""What stood in the other organisation's file when it was handed over, beside what was taken over of it here."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date

from competency.programme import Evidence
from competency.programme import Programme as ProgrammeRules
from competency.standing import Standing
from training.curriculum.words import SkillWords
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.questions import Cell, FamilyOn

SHOWN = frozenset({Standing.SIGNED_OFF, Standing.HELD})


@dataclass(frozen=True, slots=True, kw_only=True)
class There:
    """One sign-off there. caregiver: as this file knows them. match: the skill here that it looks like, or "".

    is_held: something made it unusable there, so it is shown again and not taken over. taken: the record here.
    """

    caregiver: Caregiver
    cell: Cell
    is_card: bool
    match: str
    taken: Record | None

    @property
    def skill(self) -> SkillWords:
        return self.cell.skill

    @property
    def last_day(self) -> date | None:
        return self.cell.last_day

    @property
    def is_held(self) -> bool:
        return self.cell.standing is Standing.HELD

    def has_run_out(self, day: date) -> bool:
        return self.last_day is not None and self.last_day < day

    def may_be_taken(self, day: date) -> bool:
        return not (self.is_card or self.is_held or self.taken or self.has_run_out(day))


def signed_off_there(there: FamilyOn, here: FamilyOn, people: Mapping[str, str]) -> list[There]:
    """Every current or held sign-off of the caregivers who came along. people: ids there, each with the id here."""
    return list(_rows(there, here, people))


def _rows(there: FamilyOn, here: FamilyOn, people: Mapping[str, str]) -> Iterator[There]:
    known = {c.case_id: c for c in here.caregivers}
    taken = _taken(here)
    for caregiver in there.caregivers:
        own = known.get(people.get(caregiver.case_id, ""))
        if own is None:
            continue
        for cell in there.cells_of(caregiver):
            if cell.standing in SHOWN:
                yield There(
                    caregiver=own,
                    cell=cell,
                    is_card=is_card(there.history.known.programme, cell.skill.code),
                    match=match_of(cell.skill, here),
                    taken=taken.get((own.case_id, cell.skill.code)),
                )


def is_card(rules: ProgrammeRules, code: str) -> bool:
    return rules.skills[code].evidence is Evidence.CERTIFICATE


def skills_here(here: FamilyOn) -> list[SkillWords]:
    """What a sign-off there can be taken over as: every skill that is shown, not brought as a card."""
    rules = here.history.known.programme
    return [here.words.skill(code) for code in rules.skills if not is_card(rules, code)]


def match_of(skill: SkillWords, here: FamilyOn) -> str:
    """The skill here of the same code, else the one of the same title; "" where a person has to choose."""
    found = skills_here(here)
    same = [s.code for s in found if s.code == skill.code]
    alike = [s.code for s in found if s.title.casefold() == skill.title.casefold()]
    return next(iter(same + alike), "")


def _taken(here: FamilyOn) -> dict[tuple[str, str], Record]:
    voided = here.voids()
    return {
        (r.data["caregiver"], r.data["there"]): r
        for r in here.records
        if r.kind == "accepted" and "there" in r.data and str(r.intent) not in voided
    }
