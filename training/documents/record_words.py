"""Records in words, for pages and documents alike: what kind, about whom, what it says, what followed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from competency.sweep import Judged
from training.documents import other_words
from training.documents.record_labels import FOLLOWED, KEPT_OUT, KINDS, LABELS, LATE, MOVES_NOTHING, VALUES
from training.people.models import Member
from training.records.models import Record
from training.standing.file import OTHER_KINDS
from training.standing.questions import FamilyOn, MissingShown, written

_SHOWN_ELSEWHERE = frozenset(
    {
        "signed", "shown", "results", "second", "facts", "id", "programme", "patient", "reteach",
        "summary", "people", "to_id", "from_id", "from_family", "offer", "pieces", "there",
    }
)  # fmt: skip
_DAYS = frozenset(
    {"on", "home_on", "from", "through", "last_day", "began", "born", "day", "until_on", "debrief_on", "dated"}
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One record as a line.

    recorded_on: the local day it was written; late: the day it tells of lies before that. outcome, followed: of a
    demonstration, by the end of the picture's day; empty for anything else, and for a voided one. also: what a line has
    to say besides: who saw what was typed from paper, a caregiver's own words.
    """

    record: Record
    kind: str
    what: str
    on: date
    time: str
    recorded_on: date
    name: str
    role: str
    signed_at: datetime
    outcome: str
    followed: tuple[str, ...]
    also: tuple[str, ...]
    voided: Record | None
    voided_on: date | None

    @property
    def late(self) -> bool:
        return self.on < self.recorded_on

    @property
    def late_words(self) -> str:
        """Both dates of a late entry; nothing for one that is not."""
        days = {"on": written(self.on), "recorded": written(self.recorded_on)}
        return str(LATE.get(self.record.kind, LATE[""])) % days if self.late else ""

    @property
    def number(self) -> int:
        return self.record.number


@dataclass(frozen=True, slots=True, kw_only=True)
class ExceptionShown:
    """An exception as it is printed wherever the verdict is: what it covers, whose, why, and through when."""

    title: str
    name: str
    role: str
    reason: str
    through: date
    number: int


def exceptions_of(missing: Iterable[MissingShown]) -> list[ExceptionShown]:
    """The exceptions that cover what is missing."""
    return [_excepted(m.title, m.exception) for m in missing if m.exception is not None]


def _excepted(title: str, record: Record) -> ExceptionShown:
    body = record.data
    return ExceptionShown(
        title=title,
        name=body["signed"]["name"],
        role=body["signed"]["role"],
        reason=body["reason"],
        through=date.fromisoformat(body["through"]),
        number=record.number,
    )


def how_many_missing(missing: Sequence[MissingShown]) -> str:
    """How many things are missing, and how many of them an exception covers; nothing where none is."""
    if not missing:
        return ""
    said = ngettext("%(n)s thing is missing", "%(n)s things are missing", len(missing)) % {"n": len(missing)}
    covered = sum(1 for m in missing if m.exception is not None)
    return f"{said}, {_('%(n)s covered by an exception') % {'n': covered}}." if covered else f"{said}."


def reteach_of(record: Record) -> tuple[str, date | None]:
    """What was agreed to teach again, and the day it was shown again."""
    found = record.data.get("reteach") or {}
    return found.get("line") or "", date.fromisoformat(found["on"]) if found.get("on") else None


def outcome_of(judged: Judged | None) -> str:
    """The outcome that stands; "practice" for an attempt that was none, or that nobody qualified watched."""
    if judged is None:
        return ""
    return "practice" if {"practice", "observer"} & set(judged.kept_out) else judged.outcome.value


class RecordWords:
    """The words of one family's records, as the file stands."""

    def __init__(self, picture: FamilyOn) -> None:
        self.picture = picture
        self.words = picture.words
        self.by_intent = {str(r.intent): r for r in picture.records}
        self.people = {c.case_id: c.full_name for c in picture.file.caregivers}
        self.voids = picture.voids()

    def entries(self) -> list[Entry]:
        """Every record of the file, newest first."""
        return [self.entry(r) for r in reversed(self.picture.records)]

    def entry(self, record: Record) -> Entry:
        void = self.voids.get(str(record.intent))
        signed = record.data["signed"]
        judged = self.picture.judged(record) if record.kind == "demonstration" and void is None else None
        return Entry(
            record=record,
            kind=self.kind(record),
            what=self.what(record),
            on=self.day_of(record),
            time=str(record.data.get("time") or ""),
            recorded_on=self.recorded_on(record),
            name=signed["name"],
            role=signed["role"],
            signed_at=datetime.fromisoformat(signed["at"]).astimezone(ZoneInfo(signed["zone"])),
            outcome=outcome_of(judged),
            followed=tuple(self.followed(judged)) if judged else (),
            also=tuple(self.also(record)),
            voided=void,
            voided_on=self.recorded_on(void) if void else None,
        )

    def kind(self, record: Record) -> str:
        return str(KINDS.get(record.kind, record.kind))

    def recorded_on(self, record: Record) -> date:
        return record.recorded_at.astimezone(self.picture.family.zone).date()

    def day_of(self, record: Record) -> date:
        """The day a record tells of; the day it was written where it names none."""
        text = record.data.get("on") or (record.data.get("from") if record.kind != "caregiver" else None)
        return date.fromisoformat(text) if text else self.recorded_on(record)

    def also(self, record: Record) -> Iterator[str]:
        """What stands beside a record wherever it is listed."""
        if record.data.get("transcribed"):
            yield other_words.from_paper(record.data["transcribed"])
        if record.kind == "comment":
            yield _("“%(words)s”") % {"words": record.data["said"]}
        for comment in self.comments(record):
            yield _("The caregiver’s own words on this: record %(number)s.") % {"number": comment.number}

    def comments(self, record: Record) -> list[Record]:
        """What caregivers said about a record, but for what is voided."""
        return [r for r in self._comments.get(str(record.intent), []) if str(r.intent) not in self.voids]

    @cached_property
    def _comments(self) -> dict[str, list[Record]]:
        found: dict[str, list[Record]] = {}
        for record in self.picture.records:
            if record.kind == "comment":
                found.setdefault(record.data["record"], []).append(record)
        return found

    # What ---------------------------------------------------------------------------------------------------

    def what(self, record: Record) -> str:
        """About what and whom, in one line."""
        body, kind = record.data, record.kind
        if kind == "care_plan":
            return self._plan(record)
        if kind in ("family", "caregiver"):
            return str(body["name"])
        if kind == "item":
            return self.words.item(body["item"])
        if kind == "exception":
            through = written(date.fromisoformat(body["through"]))
            return _("%(missing)s, through %(day)s") % {"missing": self.missing(body["missing"]), "day": through}
        if kind in ("void", "resolution", "override"):
            return self.about(body["record"])
        if kind in other_words.WHAT:
            return other_words.WHAT[kind](self, record)
        return ", ".join(self._about_skill(record))

    def names(self, case_ids: Iterable[str]) -> str:
        """Caregivers by name, in one line."""
        return ", ".join(self.people.get(c, c) for c in case_ids)

    def _about_skill(self, record: Record) -> Iterator[str]:
        body = record.data
        yield self.words.skill(body["skill"]).title if body.get("skill") else _("every skill")
        if body.get("caregiver"):
            yield self.people.get(body["caregiver"], body["caregiver"])
        if body.get("purpose") == "practice":
            yield _("practice")
        if record.kind == "authorisation":
            yield str(body.get("prescriber", ""))
        if record.kind == "signature":
            yield str(VALUES["by"][body["by"]])

    def _plan(self, record: Record) -> str:
        """What an entry changed against the one before it in the file."""
        before = self._plan_before.get(record.number)
        if before is None:
            return _("first entry")
        old, new = before.data["facts"], record.data["facts"]
        changed = [
            _("%(fact)s: %(old)s to %(new)s")
            % {
                "fact": self.words.fact(code),
                "old": self.words.fact_value(code, old.get(code)),
                "new": self.words.fact_value(code, new.get(code)),
            }
            for code in self.words.facts
            if old.get(code) != new.get(code)
        ]
        return "; ".join(changed) or _("nothing changed")

    @cached_property
    def _plan_before(self) -> dict[int, Record | None]:
        """By a care plan entry's number the one before it in the file that is not voided."""
        found: dict[int, Record | None] = {}
        before = None
        for record in self.picture.records:
            if record.kind == "care_plan":
                found[record.number] = before
                before = before if str(record.intent) in self.voids else record
        return found

    def about(self, intent: str) -> str:
        """Another record, by its number and what it is."""
        found = self.by_intent.get(intent)
        if found is None:
            return _("a record that is not in this file")
        said = {"number": found.number, "kind": self.kind(found), "what": self.what(found)}
        return _("Record %(number)s: %(kind)s, %(what)s") % said

    def missing(self, code: str) -> str:
        kind, _sep, name = code.partition(":")
        if kind == "item":
            return self.words.item(name)
        return self.words.fact(name) if kind == "fact" else _("Team")

    # Everything a record says --------------------------------------------------------------------------------

    def lines(self, record: Record) -> list[tuple[str, str]]:
        """Each key of the body with its value, in words, but for what a page lays out by itself."""
        body = record.data
        found = [
            (str(LABELS.get(key, key)), self._value(key, value))
            for key, value in body.items()
            if key not in _SHOWN_ELSEWHERE and value not in (None, "", [])
        ]
        if record.kind == "family":
            patient = body["patient"]
            found += [(_("Patient"), patient["name"]), (_("Called"), patient["called"])]
            found += [(_("Born"), self._value("born", patient["born"]))] if patient["born"] else []
        if record.kind == "care_plan":
            found += [
                (self.words.fact(code), self.words.fact_value(code, body["facts"].get(code)))
                for code in self.words.facts
            ]
        in_order = record.kind == "demonstration" or record.kind in OTHER_KINDS
        return sorted(found, key=lambda pair: _ORDER.get(pair[0], 99)) if in_order else found

    def _value(self, key: str, value: Any) -> str:
        if key in _DAYS:
            return written(date.fromisoformat(value))
        if key in VALUES:
            return str(VALUES[key].get(value) or self.observer(value))
        if isinstance(value, bool):
            return _("yes") if value else _("no")
        named = {
            "skill": lambda: self.words.skill(value).title,
            "caregiver": lambda: self.people.get(value, value),
            "record": lambda: self.about(value),
            "item": lambda: self.words.item(value),
            "missing": lambda: self.missing(value),
            "sets": lambda: ", ".join(self.words.set(s) for s in value),
            "observers": lambda: ", ".join(self.observer(o) for o in value),
        }
        if key in other_words.VALUES:
            return other_words.VALUES[key](self, value)
        return str(named[key]()) if key in named else str(value)

    def observer(self, observer: str) -> str:
        return self.observers.get(observer, observer)

    @cached_property
    def observers(self) -> dict[str, str]:
        """Members' names by how records name them."""
        rows = Member.objects.filter(organisation=self.picture.family.organisation_id).select_related("user")
        return {m.observer_id: m.signed_name for m in rows}

    # What followed from a demonstration ----------------------------------------------------------------------

    def followed(self, judged: Judged) -> list[str]:
        """Whether an attempt counted, why not, and what it brought about."""
        gate = ", ".join(self.words.skill(s).title for s in judged.gate)
        kept_out = ["no_edition" if code == "gate" and not gate else code for code in judged.kept_out]
        said = [str(KEPT_OUT[code]) % {"gate": gate} for code in kept_out if not judged.full]
        if not judged.kept_out and judged.outcome.value in MOVES_NOTHING:
            said.append(str(MOVES_NOTHING[judged.outcome.value]))
        if judged.full:
            said.append(_("Counts, by a supervisor’s override.") if judged.overridden else _("Counts."))
        elif judged.counts:
            said.append(_("Counts toward a renewal or a recheck."))
        return said + [str(FOLLOWED[deed]) for deed in judged.deeds if deed in FOLLOWED]


_ORDER = {str(LABELS[key]): place for place, key in enumerate(LABELS)}
