"""What one more record would change, cell by cell: a comparison of two answers of the rules, nothing decided here."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from competency.readiness import Verdict
from competency.standing import Standing
from training.pages.templatetags.register import VERDICT_WORDS, standing_word
from training.records.models import Record
from training.standing.file import FamilyFile
from training.standing.questions import Cell, FamilyOn

_QUIET = frozenset({Standing.NOT_STARTED, Standing.NOT_REQUIRED})
_AGAIN = frozenset({"recheck", "recheck_due"})
_SAID_AT_MOST = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Effect:
    """One cell that changes. again: why it is to be shown again now, or by a day, in words; empty for other changes."""

    before: Cell
    after: Cell
    again: str
    opens: bool

    @property
    def who(self) -> str:
        return self.after.caregiver.called

    @property
    def changes_standing(self) -> bool:
        return (self.before.standing, self.before.on_pause) != (self.after.standing, self.after.on_pause)


@dataclass(frozen=True, slots=True, kw_only=True)
class Effects:
    """Every cell that one record changes on a day, and the verdict on both sides of it.

    ends_plan: no care plan is left on the day, and with it no standing.
    """

    day: date
    cells: tuple[Effect, ...]
    verdict_before: Verdict | None
    verdict_after: Verdict | None
    ends_plan: bool

    @property
    def changes_verdict(self) -> bool:
        return None not in (self.verdict_before, self.verdict_after) and self.verdict_before != self.verdict_after

    @property
    def again(self) -> list[Effect]:
        return [e for e in self.cells if e.again]

    @property
    def is_empty(self) -> bool:
        return not (self.cells or self.changes_verdict or self.ends_plan)


def effects_of(file: FamilyFile, record: Record, day: date) -> Effects:
    """What ``record`` changes on ``day``: the file without it, and all that came after it, against the file with it."""
    earlier = [r for r in file.records if not record.number or r.number < record.number]
    before = FamilyFile(file.family, earlier, file.staff_records, file.programme)
    return compare(FamilyOn(before, day), FamilyOn(before.with_record(record), day))


def compare(before: FamilyOn, after: FamilyOn) -> Effects:
    pairs = ((before.cells[key], cell) for key, cell in after.cells.items() if key in before.cells)
    return Effects(
        day=after.day,
        cells=tuple(e for e in (_effect(old, new) for old, new in pairs) if e is not None),
        verdict_before=before.verdict,
        verdict_after=after.verdict,
        ends_plan=before.care_plan is not None and after.care_plan is None,
    )


def _effect(old: Cell, new: Cell) -> Effect | None:
    if old.standing is None or new.standing is None:
        return None
    if not new.asked and {old.standing, new.standing} <= _QUIET:
        return None
    known = {r.text for r in old.reasons}
    shown_once = new.standing not in _QUIET | {Standing.IN_TRAINING}
    again = [r.text for r in new.reasons if r.code in _AGAIN and r.text not in known and shown_once]
    opens = bool(old.gate) and not new.gate and new.is_required
    found = Effect(before=old, after=new, again=" ".join(again), opens=opens)
    moved = found.changes_standing or old.last_day != new.last_day
    return found if moved or again or opens else None


# In words -------------------------------------------------------------------------------------------------


def said(effects: Effects) -> str:
    """The effects as sentences, for the message after the deed; nothing where nothing changes."""
    again = [_("%(skill)s (%(who)s)") % _names(e) for e in effects.again]
    sentences = [_("No care plan is left, and with it no standing.")] if effects.ends_plan else []
    if again:
        sentences.append(
            ngettext(
                "One skill is to be shown again: %(list)s.", "%(n)s skills are to be shown again: %(list)s.", len(again)
            )
            % {"n": _number(len(again)), "list": _some(again)}
        )
    others = [_changed(e) for e in effects.cells if not e.again and (e.changes_standing or e.opens)]
    sentences += others[:_SAID_AT_MOST]
    if len(others) > _SAID_AT_MOST:
        left = len(others) - _SAID_AT_MOST
        sentences.append(ngettext("One more changed.", "%(n)s more changed.", left) % {"n": left})
    if effects.changes_verdict:
        sentences.append(_("The family: %(verdict)s.") % {"verdict": VERDICT_WORDS[str(effects.verdict_after)].lower()})
    return " ".join(sentences)


def _changed(effect: Effect) -> str:
    if not effect.changes_standing:
        return _("Gate open: %(skill)s, %(who)s.") % _names(effect)
    standing = str(standing_word(effect.after.standing, effect.after.on_pause)).lower()
    return _("%(skill)s, %(who)s: %(standing)s.") % {**_names(effect), "standing": standing}


def _names(effect: Effect) -> dict[str, str]:
    return {"skill": effect.after.skill.title, "who": effect.who}


def _some(names: Iterable[str]) -> str:
    found = list(names)
    if len(found) <= _SAID_AT_MOST:
        return ", ".join(found)
    return _("%(list)s and %(n)s more") % {
        "list": ", ".join(found[:_SAID_AT_MOST]),
        "n": len(found) - _SAID_AT_MOST,
    }


def _number(count: int) -> str:
    """Small numbers as words, at the start of a sentence."""
    words = {2: _("Two"), 3: _("Three"), 4: _("Four"), 5: _("Five"), 6: _("Six")}
    return words.get(count, str(count))
