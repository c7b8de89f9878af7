"""What pages and documents ask: a family on one day, as known at one instant, in words. Nothing here decides."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from functools import cached_property
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from competency.absence import without
from competency.answer import team_gap
from competency.course import Phase
from competency.history import FamilyHistory, SkillOn
from competency.readiness import TEAM, Missing, Verdict
from competency.reasons import Reason, gate_reasons, reasons
from competency.scoring import Outcome
from competency.standing import Line, Span, Standing
from competency.sweep import Judged, Sweep
from competency.words import Register, say
from training.curriculum.words import SkillWords, Words
from training.people.models import Caregiver, Family
from training.records.models import Record
from training.standing.file import FamilyFile


def written(day: date) -> str:
    return date_format(day, "j F Y")


class FileNames:
    """What the codes of one file's reasons are called."""

    def __init__(self, file: FamilyFile) -> None:
        self._file = file

    def skill(self, code: str, register: Register) -> str:
        words = self._file.words.skill(code)
        return words.plain if register is Register.CAREGIVER else words.title

    def fact(self, code: str, register: Register) -> str:
        words = self._file.words
        return words.plain_fact(code) if register is Register.CAREGIVER else words.fact(code)

    def step(self, record: str, code: str, register: Register) -> str:
        attempt = self._file.record(record)
        if attempt is None:
            return code
        data = attempt.data
        words = self._file.words
        number = step_number(words, data["skill"], data["edition"], code)
        step = words.step(data["skill"], data["edition"], code)
        text = step.get("plain", step["text"]) if register is Register.CAREGIVER else step["text"]
        return _("step %(number)s, “%(text)s”") % {"number": number, "text": text.rstrip(".")}


def step_number(words: Words, skill: str, edition: int, code: str) -> int:
    """Where a step stands in its edition, counted from 1; 0 for one that is not there."""
    codes = list(words.steps.get((skill, edition), {}))
    return codes.index(code) + 1 if code in codes else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One reason in words. met: None where that makes no sense."""

    code: str
    met: bool | None
    text: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One caregiver in one skill on the day. waiting_for: "skill" or "prescriber" when only that holds it.

    reasons: for staff, in use order; brief: the one or two lines a table has room for; plain: for the caregiver.
    """

    caregiver: Caregiver
    skill: SkillWords
    standing: Standing | None
    since: date | None
    through: date | None
    last_day: date | None
    days_left: int | None
    may_practise: bool
    asked: bool
    on_pause: bool
    waiting_for: str
    reasons: tuple[Said, ...]
    plain: tuple[Said, ...]
    brief: str
    gate: tuple[str, ...]

    @property
    def is_required(self) -> bool:
        return self.standing not in (None, Standing.NOT_REQUIRED)


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingShown:
    """One thing missing, in words. exception: the record that covers it, where one does."""

    code: str
    kind: str
    title: str
    lines: tuple[str, ...]
    exception: Record | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Coming:
    """A standing that changes by itself after the day, if nothing more happens."""

    day: date
    caregiver: Caregiver
    skill: SkillWords
    standing: Standing


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemShown:
    """One item on the day. hours: how long it was tried, where whoever entered it says so. note: theirs, for staff."""

    code: str
    title: str
    is_done: bool
    done_on: date | None
    by: str
    through: date | None
    hours: int | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class FactShown:
    code: str
    title: str
    value: str
    is_stated: bool


class FamilyOn:
    """A family on one day as known at one instant (None: now, with everything recorded)."""

    def __init__(self, file: FamilyFile, day: date, known_at: datetime | None = None) -> None:
        self.file = file
        self.family: Family = file.family
        self.words: Words = file.words
        self.day = day
        self.known_at = known_at
        self.names = FileNames(file)

    @cached_property
    def history(self) -> FamilyHistory:
        return self.file.history(self.known_at)

    @cached_property
    def caregivers(self) -> list[Caregiver]:
        return [c for c in self.file.caregivers if c.case_id in self.history.caregivers]

    @cached_property
    def sweeps(self) -> dict[str, Sweep]:
        return {c.case_id: self.history.at_end_of(self.day, c.case_id) for c in self.caregivers}

    # Standings --------------------------------------------------------------------------------------------

    @cached_property
    def cells(self) -> dict[tuple[str, str], Cell]:
        """Every caregiver's cell in every skill, by case id and skill code."""
        skills = self.history.known.programme.skills
        return {(c.case_id, code): self._cell(c, code) for c in self.caregivers for code in skills}

    def cell(self, caregiver: Caregiver, skill: str) -> Cell:
        return self.cells[caregiver.case_id, skill]

    @property
    def rows(self) -> list[tuple[SkillWords, list[Cell]]]:
        """The grid: for each skill, one cell for each caregiver in the order of `caregivers`."""
        return [
            (self.words.skill(code), [self.cells[c.case_id, code] for c in self.caregivers])
            for code in self.history.known.programme.skills
        ]

    def cells_of(self, caregiver: Caregiver) -> list[Cell]:
        return [self.cells[caregiver.case_id, code] for code in self.history.known.programme.skills]

    def line(self, caregiver: Caregiver, skill: str) -> Line[Standing]:
        return self.history.line(caregiver.case_id, skill)

    def _cell(self, caregiver: Caregiver, code: str) -> Cell:
        sweep = self.sweeps[caregiver.case_id]
        on: SkillOn = self.history.skill_on(self.day, sweep, code)
        why = reasons(self.history, self.day, sweep, code)
        standing = on.span.value if on.span else None
        holders = {r.code for r in why if r.met is False and r.code in _HOLDERS}
        return Cell(
            caregiver=caregiver,
            skill=self.words.skill(code),
            standing=standing,
            since=on.span.start if on.span else None,
            through=on.span.through if on.span else None,
            last_day=on.last_day,
            days_left=(on.last_day - self.day).days if on.last_day and standing is Standing.SIGNED_OFF else None,
            may_practise=on.may_practise,
            asked=on.asked,
            on_pause="hold" in holders,
            waiting_for=_HOLDERS[holders.copy().pop()] if standing is Standing.HELD and len(holders) == 1 else "",
            reasons=tuple(self.said(r, Register.CLINICIAN) for r in why),
            plain=tuple(self.said(r, Register.CAREGIVER) for r in why),
            brief=self._brief(standing, why),
            gate=tuple(r.about["skill"] for r in gate_reasons(sweep, sweep.courses[code], self.day) if not r.met),
        )

    def said(self, reason: Reason, register: Register) -> Said:
        text = say(reason, register, self.names, day=written)
        return Said(code=reason.code, met=reason.met, text=text)

    def _brief(self, standing: Standing | None, why: list[Reason]) -> str:
        if standing is None:
            return ""
        wanted = _BRIEF[standing]
        found = [r for r in why if r.code in wanted and (r.met is False or r.code in ("signed_off", "recheck_due"))]
        found.sort(key=lambda r: wanted.index(r.code))
        return " ".join(self.said(r, Register.CLINICIAN).text for r in found[:2])

    # Attempts ---------------------------------------------------------------------------------------------

    def judged(self, record: Record) -> Judged | None:
        """What became of one recorded demonstration, by the end of the day."""
        sweep = self.sweeps.get(str(record.data.get("caregiver")))
        return sweep.judged.get(str(record.intent)) if sweep else None

    def voids(self) -> Mapping[str, Record]:
        """Voided records' ids, each with the record that voids it."""
        return {r.data["record"]: r for r in self.records if r.kind == "void"}

    @property
    def records(self) -> list[Record]:
        return [r for r in self.file.records if self.known_at is None or r.recorded_at <= self.known_at]

    def last_trouble(self, caregiver: Caregiver, skill: str) -> Record | None:
        """The newest demonstration of a skill that asked for more, with its re-teach line; None once one passed."""
        sweep = self.sweeps[caregiver.case_id]
        for judged in reversed(sweep.judged.values()):
            if judged.attempt.skill == skill:
                record = self.file.record(judged.attempt.id)
                wanted = judged.outcome is not Outcome.PASSED or (record is not None and record.data.get("reteach"))
                return record if wanted else None
        return None

    def why_not_assessed_on_patient(self, caregiver: Caregiver, skill: str) -> tuple[str, ...]:
        """The prerequisites a first sign-off on the patient waits for; empty where it may start or is a renewal."""
        sweep = self.sweeps[caregiver.case_id]
        course = sweep.courses[skill]
        grace_end = course.clock.plus(course.edition.standard.grace) if course.edition else None
        in_grace = course.phase is Phase.LAPSED and grace_end is not None and self.day <= grace_end
        if course.phase is Phase.CURRENT or in_grace or (course.ever_signed and course.open):
            return ()
        return tuple(p.skill for p in sweep.closed_gates(skill, self.day))

    # Readiness --------------------------------------------------------------------------------------------

    @cached_property
    def verdict_span(self) -> Span[Verdict] | None:
        return self.history.readiness.line.span(self.day)

    @property
    def verdict(self) -> Verdict | None:
        return self.verdict_span.value if self.verdict_span else None

    @cached_property
    def missing(self) -> list[MissingShown]:
        return [self._missing(m) for m in self.history.readiness.missing(self.day)]

    def _missing(self, missing: Missing) -> MissingShown:
        kind, _sep, code = missing.code.partition(":")
        exception = self.exception(missing.code) if missing.excepted else None
        if kind == TEAM:
            title, lines = self._team_missing()
        elif kind == "item":
            item = next(i for i in self.items if i.code == code)
            title, lines = item.title, (item_state(item, self.day),)
        else:
            title = self.words.fact(code)
            lines = (_("The care plan does not state it. What depends on it applies until it does."),)
        return MissingShown(code=missing.code, kind=kind, title=title, lines=lines, exception=exception)

    def exception(self, code: str) -> Record | None:
        """The exception that covers this on the day; of several the one that lasts longest."""
        found = [x for x in self.history.known.exceptions if x.missing == code and x.from_day <= self.day <= x.through]
        return self.file.record(max(found, key=lambda x: x.through).id) if found else None

    def _team_missing(self) -> tuple[str, tuple[str, ...]]:
        gap = team_gap(self.history, self.day)
        if gap["nearest"] is None:
            return _("Team"), (_("No team rule is in force."),)
        lines = [nearest_words(gap["nearest"], gap["filled"], gap["places"])]
        people = {c.case_id: c for c in self.caregivers}
        for who in gap["who"]:
            lacks = ", ".join(self.words.skill(s).title for s in who["skills"])
            if who["age"]:
                lacks = _("is not old enough, or has no birth date here")
            elif not who["skills"]:
                lacks = _("this care plan asks for nothing of it")
            line = {"name": people[who["caregiver"]].called, "set": self.words.set(who["set"]), "lacks": lacks}
            lines.append(_("%(name)s, for %(set)s: %(lacks)s.") % line)
        return _("Team"), tuple(lines)

    @property
    def team_met_by(self) -> str | None:
        met = self.history.readiness.team_met_by(self.day)
        return met.name if met else None

    def held_sets(self, caregiver: Caregiver) -> dict[str, bool]:
        """Every set of the rules in force, by code, and whether the caregiver holds it on the day."""
        return self.history.readiness.held_sets(self.history.caregivers[caregiver.case_id], self.day)

    @cached_property
    def items(self) -> list[ItemShown]:
        """The items of the rules in force: when each was last done by the day, by whom, and through when it holds."""
        rules = self.history.readiness.rules(self.day)
        return [self._item(rule.code, rule.valid_for) for rule in rules.items] if rules else []

    def _item(self, code: str, valid_for: Any) -> ItemShown:
        done = [d for d in self.history.known.items if d.item == code and d.on <= self.day]
        last = max(done, key=lambda d: d.on, default=None)
        record = self.file.record(last.id) if last else None
        said = record.data if record else {}
        through = valid_for.after(last.on) if last and valid_for else None
        return ItemShown(
            code=code,
            title=self.words.item(code),
            is_done=last is not None and (through is None or self.day <= through),
            done_on=last.on if last else None,
            by=said["signed"]["name"] if said else "",
            through=through,
            hours=said.get("hours"),
            note=said.get("note") or "",
        )

    def if_out(self, out: Collection[Caregiver]) -> FamilyOn:
        """The same family on the same day, were these caregivers in it no longer from that day on. A question only."""
        other = FamilyOn(self.file, self.day, self.known_at)
        case = self.file.whole_case if self.known_at is None else self.file.case(self.day, self.known_at)
        other.history = FamilyHistory(without(case, {c.case_id for c in out}, self.day), self.known_at)
        return other

    # Care plan --------------------------------------------------------------------------------------------

    @cached_property
    def care_plan(self) -> Record | None:
        """The entry in force at the end of the day."""
        in_force = [e for e in self.history.known.care_plan if e.on <= self.day]
        return self.file.record(in_force[-1].id) if in_force else None

    @cached_property
    def facts(self) -> list[FactShown]:
        """Every fact of the programme, in its order, as the care plan in force states it."""
        stated = self.care_plan.data["facts"] if self.care_plan else {}
        return [
            FactShown(
                code=code,
                title=self.words.fact(code),
                value=self.words.fact_value(code, stated.get(code)),
                is_stated=code in stated,
            )
            for code in self.words.facts
            if code in stated or code in self.words.offered
        ]

    # What comes -------------------------------------------------------------------------------------------

    def coming(self, days: int = 90) -> list[Coming]:
        """What will lapse, end or have to be shown again within so many days, if nothing more happens."""
        last = self.day + timedelta(days=days)
        return sorted(self._coming(last), key=lambda c: (c.day, c.caregiver.pk, c.skill.code))

    def _coming(self, last: date) -> Iterator[Coming]:
        for caregiver in self.caregivers:
            for code in self.history.known.programme.skills:
                before = None
                for span in self.line(caregiver, code):
                    usable = before is not None and before.value in (Standing.SIGNED_OFF, Standing.AWAITING)
                    if usable and self.day < span.start <= last and span.value in _WORSE:
                        yield Coming(
                            day=span.start, caregiver=caregiver, skill=self.words.skill(code), standing=span.value
                        )
                    before = span


_HOLDERS = {"prerequisite": "skill", "authorisation": "prescriber", "recheck": "", "hold": ""}
_WORSE = frozenset({Standing.LAPSED, Standing.HELD, Standing.IN_TRAINING})
_BRIEF: Mapping[Standing, tuple[str, ...]] = {
    Standing.NOT_REQUIRED: (),
    Standing.SIGNED_OFF: ("recheck_due",),
    Standing.HELD: ("recheck", "hold", "authorisation", "prerequisite"),
    Standing.AWAITING: ("signature",),
    Standing.LAPSED: ("lapsed", "gate"),
    Standing.WITHDRAWN: ("withdrawn",),
    Standing.IN_TRAINING: ("needs", "gate", "authorisation", "critical", "not_passed", "disputed"),
    Standing.NOT_STARTED: ("gate", "authorisation", "certificate", "needs"),
}


def item_state(item: ItemShown, day: date) -> str:
    """An item's state in words."""
    if item.done_on is None:
        return _("Not done yet.")
    if item.is_done:
        through = item.through
        return _("Done, holds through %(day)s.") % {"day": written(through)} if through else _("Done.")
    return out_of_date((item.through or day) + timedelta(days=1))


def out_of_date(since: date) -> str:
    return _("Out of date since %(day)s.") % {"day": written(since)}


def nearest_words(name: str, filled: int, places: int) -> str:
    """How far the nearest way to meet the team rule is."""
    said = _("The nearest way to meet the team rule is “%(name)s”: %(filled)s of %(places)s places are filled.")
    return said % {"name": name, "filled": filled, "places": places}


def signatures_missing(picture: FamilyOn, caregiver: Caregiver, skill: str) -> tuple[str, ...]:
    """Whose signatures an awaiting skill still waits for: "caregiver", "educator"."""
    why = reasons(picture.history, picture.day, picture.sweeps[caregiver.case_id], skill)
    return tuple(r.about["by"] for r in why if r.code == "signature" and not r.met)


def not_counted(picture: FamilyOn, caregiver: Caregiver, skill: str) -> tuple[Said, ...]:
    """The assessments since the last sign-off that did not count, newest first, in a caregiver's words."""
    why = reasons(picture.history, picture.day, picture.sweeps[caregiver.case_id], skill)
    wanted = [r for r in why if r.code in _NOT_COUNTED and r.about.get("why") != "practice"]
    return tuple(picture.said(r, Register.CAREGIVER) for r in wanted)


_NOT_COUNTED = frozenset({"critical", "not_passed", "incomplete", "disputed", "did_not_count"})
