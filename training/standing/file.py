"""One family's file: its records as a case for `competency`, and the words to show the answer with."""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Mapping
from datetime import date, datetime
from functools import cached_property, lru_cache
from typing import Any

from competency.chain import canonical
from competency.history import FamilyHistory
from competency.programme import Programme as ProgrammeRules
from competency.reading import read_case
from competency.records import Case
from training.curriculum import programme_file
from training.curriculum.models import Edition, Programme, RuleSet
from training.curriculum.words import Words, words_of
from training.people.models import Caregiver, Family
from training.records.appending import instant_text
from training.records.models import Record

# A record's kind, the list of the case it belongs to, and the keys the rules read of its body.
FAMILY_LISTS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "care_plan": ("care_plan", ("on", "time", "facts")),
    "authorisation": ("authorisations", ("skill", "from", "through")),
    "item": ("items", ("item", "on")),
    "exception": ("exceptions", ("missing", "from", "through", "by", "reason")),
    "void": ("voids", ("record", "reason")),
    "qualification": ("qualifications", ("observer", "skill", "from", "through")),
}
CAREGIVER_KEYS: Mapping[str, tuple[str, ...]] = {
    "demonstration": (
        "purpose", "on", "time", "skill", "edition", "setting", "role", "mode", "place", "observers", "results",
        "second", "stopped", "began",
    ),
    "certificate": ("skill", "on", "through", "time"),
    "accepted": ("skill", "on", "last_day", "organisation", "time"),
    "signature": ("skill", "on", "by", "time"),
    "hold": ("skill", "on", "through", "reason", "time"),
    "recheck": ("skill", "on", "reason", "time"),
    "withdrawal": ("skill", "on", "reason", "cover", "time"),
    "resolution": ("record", "take"),
    "override": ("record", "reason"),
}  # fmt: skip
# Kinds the rules do not read (`training.standing.other_kinds`): they are in the file and never in the case.
OTHER_KINDS = frozenset(
    {
        "event", "comment", "stay", "appointment", "agreement", "told_card", "kit_check",
        "offer", "offer_withdrawn", "offer_declined", "offer_accepted", "handover", "outside_evidence",
        "closing", "reopening",
    }
)  # fmt: skip
SEEN = frozenset({"demonstration", "signature", "accepted", "certificate"})  # somebody saw, or said yes
# What is never voided: it is answered, or undone by another deed.
FOR_GOOD = frozenset(
    {"offer", "offer_withdrawn", "offer_declined", "offer_accepted", "handover", "closing", "reopening"}
)


class FamilyFile:
    """Everything recorded about one family, with the qualifications of its organisation and its programme."""

    def __init__(
        self, family: Family, records: Iterable[Record], staff_records: Iterable[Record], programme: Programme
    ) -> None:
        self.family = family
        self.records = list(records)
        self.staff_records = list(staff_records)
        self.programme = programme

    @cached_property
    def caregivers(self) -> list[Caregiver]:
        return list(self.family.caregivers.all())

    @cached_property
    def rules(self) -> ProgrammeRules:
        return rules_of(self.programme.pk, self.programme.version)

    @cached_property
    def words(self) -> Words:
        return words_in(self.programme.pk, self.programme.version)

    @property
    def head(self) -> str:
        return self.records[-1].digest if self.records else "0" * 64

    @cached_property
    def observers(self) -> frozenset[str]:
        """Everybody whose qualification matters to this file: who watched, and who sat beside."""
        seen = [r.data for r in self.records if r.kind == "demonstration"]
        second = {body["second"]["observer"] for body in seen if body.get("second")}
        return frozenset(observer for body in seen for observer in body["observers"]) | second

    @cached_property
    def assessors(self) -> frozenset[str]:
        """Everybody who watched or sat beside here, typed it from paper, agreed to a sign-off or took one over."""
        signed = [r.data for r in self.records if r.kind in SEEN]
        return self.observers | {b["signed"]["id"] for b in signed if b.get("by") != "caregiver" and "signed" in b}

    @property
    def staff_head(self) -> str:
        """The digest of the organisation's last word on the qualification of anybody who matters to this file."""
        return head_about(self.observers, self.staff_records)

    def record(self, intent: str) -> Record | None:
        """The record a case calls by this id."""
        return self._by_intent.get(intent)

    @cached_property
    def _by_intent(self) -> dict[str, Record]:
        return {str(r.intent): r for r in self.records}

    def with_record(self, record: Record) -> FamilyFile:
        """The same file with one more record, which need not be stored."""
        return FamilyFile(self.family, [*self.records, record], self.staff_records, self.programme)

    def with_rules(self, rules: ProgrammeRules, words: Words) -> FamilyFile:
        """The same file under other rules, such as those of an edition not published yet."""
        other = FamilyFile(self.family, self.records, self.staff_records, self.programme)
        other.rules, other.words = rules, words
        return other

    def case_data(self, on: date, known_at: datetime | None = None) -> dict[str, Any]:
        """The case but for its programme, as JSON values: everything ever recorded, and the question."""
        data: dict[str, Any] = {
            "on": on.isoformat(),
            "known_at": instant_text(known_at) if known_at else None,
            **{name: [] for name, _ in FAMILY_LISTS.values()},
        }
        people: dict[str, dict[str, Any]] = {}
        unread = {str(r.intent) for r in self.records if r.kind in OTHER_KINDS}
        for record in (*self._staff_records_of_this_programme(), *self.records):
            body = record.plain
            if record.kind == "void" and body["record"] in unread:
                continue  # a case in which nothing has this id would be refused
            dated = {"id": str(record.intent), "recorded_at": instant_text(record.recorded_at)}
            if record.kind in FAMILY_LISTS:
                name, keys = FAMILY_LISTS[record.kind]
                data[name].append({**dated, **_picked(body, keys)})
            elif record.kind == "caregiver" and (known_at is None or record.recorded_at <= known_at):
                known = people.setdefault(body["id"], {"records": []})
                known |= _picked(body, ("id", "born", "is_patient", "from", "through", "sets"))
            elif record.kind in CAREGIVER_KEYS and body["caregiver"] in people:
                picked = _picked(body, CAREGIVER_KEYS[record.kind])
                people[body["caregiver"]]["records"].append({"kind": record.kind, **dated, **picked})
        data["caregivers"] = list(people.values())
        return data

    def _staff_records_of_this_programme(self) -> list[Record]:
        """Qualifications for skills that this programme has, and what voids them."""
        skills = {None, *self.rules.skills}
        named = [r for r in self.staff_records if r.kind == "qualification"]
        other = {str(r.intent) for r in named if r.plain["skill"] not in skills}
        if not other:
            return self.staff_records
        return [r for r in self.staff_records if str(r.intent) not in other and r.plain.get("record") not in other]

    def case(self, on: date, known_at: datetime | None = None) -> Case:
        """Raises RefusedError where the records contradict each other."""
        return read_case(self.case_data(on, known_at), programme=self.rules)

    @cached_property
    def whole_case(self) -> Case:
        """The case with everything ever recorded, read once; its day is of no matter. Raises RefusedError as `case`."""
        return self.case(date(2000, 1, 1))

    def history(self, known_at: datetime | None = None) -> FamilyHistory:
        return FamilyHistory(self.whole_case if known_at is None else self.case(date(2000, 1, 1), known_at), known_at)


def _picked(body: Mapping[str, Any], keys: Iterable[str]) -> dict[str, Any]:
    return {key: body[key] for key in keys if key in body}


def head_about(observers: frozenset[str], staff_records: Iterable[Record]) -> str:
    """The digest of the last of an organisation's own records that speaks of one of these observers; zeros for none."""
    head, about = "0" * 64, {}
    for record in staff_records:
        body = record.data
        about[str(record.intent)] = body.get("observer") or about.get(body.get("record", ""), "")
        if about[str(record.intent)] in observers:
            head = record.digest
    return head


def open_file(family: Family) -> FamilyFile:
    """Read a family's whole file from the table of records."""
    organisation = family.organisation
    return FamilyFile(
        family,
        Record.objects.of_chain(family.public_id),
        Record.objects.of_chain(organisation.public_id),
        family.enrolment.programme,
    )


@lru_cache(maxsize=64)
def rules_of(programme: int, version: str) -> ProgrammeRules:
    """A programme's published rules, read once for each version of it."""
    return read_rules(Programme.objects.get(pk=programme))


@lru_cache(maxsize=64)
def words_in(programme: int, version: str) -> Words:
    found = Programme.objects.get(pk=programme)
    return words_of(found, found.editions.all(), found.rule_sets.all())


def read_rules(programme: Programme) -> ProgrammeRules:
    """Turn the published rows into the rules' own values."""
    return programme_file.checked(
        case_programme(
            programme, Edition.objects.filter(programme=programme), RuleSet.objects.filter(programme=programme)
        )
    )


def case_programme(programme: Programme, editions: Iterable[Edition], rule_sets: Iterable[RuleSet]) -> dict[str, Any]:
    """The programme part of a case, from these rows; they need not be stored."""
    of: dict[str, list[dict[str, Any]]] = {s["code"]: [] for s in programme.about["skills"]}
    for edition in editions:
        of[edition.skill].append(programme_file.rules_of_edition(edition.body, instant_text(edition.recorded_at)))
    rules = [programme_file.rules_of_rules(r.body, instant_text(r.recorded_at)) for r in rule_sets]
    skills = [{"code": code, "editions": found} for code, found in of.items() if found]
    return {"code": programme.code, "skills": skills, "rules": rules}


def unsaved(family: Family, kind: str, body: Mapping[str, Any], intent: uuid.UUID, at: datetime) -> Record:
    """A record as it would be, to judge before it is written."""
    return Record(
        organisation=family.organisation,
        chain=family.public_id,
        number=0,
        kind=kind,
        intent=intent,
        recorded_at=at,
        body=canonical(body),
        previous="",
        digest="",
    )
