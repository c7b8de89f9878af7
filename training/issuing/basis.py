"""Which records a document rests on. Asked when it is made, and again when somebody checks it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from functools import cached_property

from competency.chain import NOTHING_BEFORE
from training.issuing.kinds import KINDS
from training.people.models import Caregiver
from training.records.models import Record
from training.standing.file import FamilyFile
from training.tenancy.scope import filed_in

_ABOUT_ANOTHER = frozenset({"void", "resolution", "override"})


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """The newest record of a chain that bears on a document; number 0 where none does."""

    number: int = 0
    digest: str = NOTHING_BEFORE
    recorded_at: datetime | None = None


class Basis:
    """What bears on a document of this kind, of everything that is recorded by now.

    Of the family's chain: the kinds that may change it, about its caregiver where it is about one, and what is
    planned with whom. Of the programme's: all. Of the organisation's: what it says of who has watched them.
    """

    def __init__(self, file: FamilyFile, kind: str, caregiver: Caregiver | None = None) -> None:
        self.file, self.kind, self.caregiver = file, kind, caregiver
        self._moved_by = KINDS[kind].moved_by

    @cached_property
    def family_records(self) -> list[Record]:
        return [record for record in self.file.records if self._bears(record)]

    @cached_property
    def programme_records(self) -> list[Record]:
        with filed_in(self.file.family.organisation_id):  # a caregiver who prints their own sees none of these rows
            return list(Record.objects.of_chain(self.file.programme.public_id))

    @cached_property
    def staff_records(self) -> list[Record]:
        if self._moved_by is not None and "demonstration" not in self._moved_by:
            return []
        watchers = set(_watchers(self.family_records))
        named = [r for r in self.file.staff_records if r.data.get("observer") in watchers]
        ids = {str(r.intent) for r in named}
        return [r for r in self.file.staff_records if str(r.intent) in ids or r.data.get("record") in ids]

    @property
    def family(self) -> Head:
        return _head(self.family_records)

    @property
    def programme(self) -> Head:
        return _head(self.programme_records)

    @property
    def staff(self) -> Head:
        return _head(self.staff_records)

    @property
    def known_at(self) -> datetime:
        """When the newest of them was recorded: the document says all that was known then, and nothing has come since.

        Raises ValueError for a family without a record.
        """
        return max(head.recorded_at for head in (self.family, self.programme, self.staff) if head.recorded_at)

    def _bears(self, record: Record) -> bool:
        about = record
        if record.kind in _ABOUT_ANOTHER:
            about = self.file.record(str(record.data.get("record"))) or record
        if self._moved_by is not None and about.kind not in self._moved_by:
            return False
        if about.kind == "appointment":
            return True  # whose turn it is, and who comes along, changes from record to record
        whose = about.data.get("id" if about.kind == "caregiver" else "caregiver")
        return self.caregiver is None or whose in (None, self.caregiver.case_id)


def _watchers(records: list[Record]) -> Iterator[str]:
    for record in records:
        if record.kind == "demonstration":
            yield from record.data.get("observers", ())
            second = record.data.get("second")
            if second:
                yield second["observer"]


def _head(records: list[Record]) -> Head:
    if not records:
        return Head()
    last = records[-1]
    return Head(number=last.number, digest=last.digest, recorded_at=last.recorded_at)
