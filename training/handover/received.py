"""The other organisation's record, read back from the kept file: its family, its programme, its own standings.

Everything comes from the file, nothing from the live tables, and nothing of it goes into the file here.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable
from datetime import date, datetime
from functools import cached_property

from competency.chain_reading import read_canonical
from competency.programme import Programme as ProgrammeRules
from training.curriculum import programme_file
from training.curriculum.models import Edition, Programme, RuleSet
from training.curriculum.words import Words, words_of
from training.people.models import Caregiver, Family, Organisation
from training.records.appending import instant_text
from training.records.models import Record
from training.standing.file import FamilyFile
from training.standing.projecting import (
    caregiver_row,
    edition_of,
    edition_row,
    family_row,
    programme_row,
    rules_row,
)
from training.standing.questions import FamilyOn


class ReceivedFile(FamilyFile):
    """A family's file as another organisation handed it over."""

    def __init__(self, content: bytes, title: str) -> None:
        chains = _chains(content)
        self.title = title
        self._curriculum = chains["curriculum"]
        about = next(r for r in self._curriculum if r.kind == "programme")
        programme = Programme(**programme_row(about), version=self._curriculum[-1].digest)
        super().__init__(_family(chains["family"], title), chains["family"], chains["staff"], programme)

    @cached_property
    def caregivers(self) -> list[Caregiver]:
        rows = {r.data["id"]: caregiver_row(r) for r in self.records if r.kind == "caregiver"}
        return [
            Caregiver(pk=number, public_id=uuid.UUID(of), family=self.family, **row)
            for number, (of, row) in enumerate(rows.items(), start=1)
        ]

    @cached_property
    def editions(self) -> list[Edition]:
        return [
            Edition(programme=self.programme, skill=edition_of(r)[0], number=edition_of(r)[1], **edition_row(r))
            for r in self._curriculum
            if r.kind == "edition"
        ]

    @cached_property
    def rule_sets(self) -> list[RuleSet]:
        return [
            RuleSet(
                programme=self.programme,
                in_force_from=date.fromisoformat(r.data["in_force_from"]),
                recorded_at=r.recorded_at,
                **rules_row(r),
            )
            for r in self._curriculum
            if r.kind == "rules"
        ]

    @cached_property
    def rules(self) -> ProgrammeRules:
        skills = {s["code"]: [] for s in self.programme.about["skills"]}
        for edition in self.editions:
            skills[edition.skill].append(
                programme_file.rules_of_edition(edition.body, instant_text(edition.recorded_at))
            )
        rules = [programme_file.rules_of_rules(r.body, instant_text(r.recorded_at)) for r in self.rule_sets]
        found = [{"code": code, "editions": editions} for code, editions in skills.items() if editions]
        return programme_file.checked({"code": self.programme.code, "skills": found, "rules": rules})

    @cached_property
    def words(self) -> Words:
        return words_of(self.programme, self.editions, self.rule_sets)

    @cached_property
    def names(self) -> dict[str, str]:
        """Whoever signed anything in it, by how records name them."""
        signed = [r.data["signed"] for r in (*self.staff_records, *self.records) if "signed" in r.data]
        return {one["id"]: one["name"] for one in signed}

    def on(self, day: date) -> FamilyOn:
        return FamilyOn(self, day)


def _chains(content: bytes) -> dict[str, list[Record]]:
    """The records of each chain of an export, as rows that are nowhere stored."""
    first, *lines = content.splitlines()
    what = {row["chain"]: row["what"] for row in read_canonical(first)["chains"]}
    found: dict[str, list[Record]] = {name: [] for name in what.values()}
    for line in lines:
        data = read_canonical(line)
        if "end" not in data:
            found[what[data["chain"]]].append(_record(data))
    return found


def _record(data: dict[str, str]) -> Record:
    return Record(
        chain=uuid.UUID(data["chain"]),
        number=int(data["number"]),
        kind=data["kind"],
        intent=uuid.UUID(data["intent"]),
        recorded_at=datetime.fromisoformat(data["recorded_at"]),
        body=data["body"].encode(),
        previous=data["previous"],
        digest=data["digest"],
    )


def _family(records: Iterable[Record], title: str) -> Family:
    rows = [r for r in records if r.kind == "family"]
    return Family(pk=0, public_id=rows[-1].chain, organisation=Organisation(pk=0, title=title), **family_row(rows[-1]))
