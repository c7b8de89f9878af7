"""What a demonstration is called and brings, in sentences. The verdicts in them were all reached elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from competency.programme import Measure, Mode, Place, Role, Setting
from competency.reasons import became, gate_reasons
from competency.standing import Standing
from competency.sweep import Judged
from competency.words import Register
from training.pages.templatetags.register import STANDING_WORDS, VERDICT_WORDS
from training.people.models import Caregiver
from training.standing.drafts import value_text
from training.standing.models import Draft
from training.standing.previews import Preview
from training.standing.questions import Cell, FamilyOn, written

SETTINGS = {
    Setting.PATIENT.value: gettext_lazy("On the patient"),
    Setting.MODEL.value: gettext_lazy("Model"),
    Setting.SIMULATION.value: gettext_lazy("Simulation"),
}
ROLES = {Role.LEAD.value: gettext_lazy("leads"), Role.ASSIST.value: gettext_lazy("assists")}
MODES = {Mode.IN_PERSON.value: gettext_lazy("in person"), Mode.REMOTE.value: gettext_lazy("by video")}
PLACES = {
    Place.HOSPITAL.value: gettext_lazy("in hospital"),
    Place.HOME.value: gettext_lazy("at home"),
    Place.SCHOOL.value: gettext_lazy("at school"),
    Place.OUT.value: gettext_lazy("out of the house"),
}
STOPPED_BY = {
    "observer": gettext_lazy("the observer"),
    "second": gettext_lazy("the second observer"),
    "caregiver": gettext_lazy("the caregiver"),
    "patient": gettext_lazy("the patient"),
    "other": gettext_lazy("somebody else"),
}
INTERPRETERS = {
    "none_needed": gettext_lazy("none needed"),
    "in_person": gettext_lazy("in person"),
    "video": gettext_lazy("by video"),
    "phone": gettext_lazy("by phone"),
    "family_member": gettext_lazy("a family member"),
}
FAMILY_INTERPRETER = gettext_lazy(
    "A family member is not relied on for what has to be understood: repeat it with a qualified interpreter, as the "
    "organisation’s policy says."
)
FEELS = {"ready": gettext_lazy("I feel ready"), "not_yet": gettext_lazy("Not yet")}
PURPOSES = {"assessment": gettext_lazy("assessment"), "practice": gettext_lazy("practice")}


def limits(measure: Measure) -> str:
    """10 s or less; and whether the prescriber ordered it."""
    said = _limits(measure)
    return _("%(limits)s, as ordered") % {"limits": said} if measure.is_ordered else said


def _limits(measure: Measure) -> str:
    low, high, unit = value_text(measure.low), value_text(measure.high), measure.unit
    if low and high:
        return _("%(low)s to %(high)s %(unit)s") % {"low": low, "high": high, "unit": unit}
    if high:
        return _("%(high)s %(unit)s or less") % {"high": high, "unit": unit}
    if low:
        return _("%(low)s %(unit)s or more") % {"low": low, "unit": unit}
    return _("no limit")


def within(measure: Measure) -> str:
    """limit 10 s: as it stands behind a value."""
    low, high, unit = value_text(measure.low), value_text(measure.high), measure.unit
    if high and not low and not measure.is_ordered:
        return _("limit %(high)s %(unit)s") % {"high": high, "unit": unit}
    return _("limit %(limits)s") % {"limits": limits(measure)}


def gates_closed(picture: FamilyOn, caregiver: Caregiver, skill: str) -> list[str]:
    """Why an assessment on the patient has to wait on the picture's day, a sentence a gate; none where it may begin."""
    waits_for = picture.why_not_assessed_on_patient(caregiver, skill)
    sweep = picture.sweeps[caregiver.case_id]
    reasons = gate_reasons(sweep, sweep.courses[skill], picture.day)
    closed = [r for r in reasons if not r.met and r.about["skill"] in waits_for]
    return [picture.said(r, Register.CLINICIAN).text for r in closed]


def stands_in_the_way(cell: Cell) -> list[str]:
    """What the prescriber or a hold says against doing it on the patient."""
    return [said.text for said in cell.reasons if said.code in ("authorisation", "hold") and said.met is False]


def kept_out(picture: FamilyOn, judged: Judged) -> list[str]:
    """Why an attempt moves nothing, one sentence a cause."""
    found = became(picture.history, judged, counts=judged.full)
    return [picture.said(r, Register.CLINICIAN).text for r in found if r.code == "did_not_count"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Bring:
    """One thing a signature would bring about. mark and standing: the shape beside it, and its colour."""

    mark: str
    standing: str
    strong: str
    more: str

    def __str__(self) -> str:
        return f"{self.strong} {self.more}".strip()


def brings(preview: Preview) -> list[Bring]:
    """What would be otherwise once this is signed: the skill itself always, then what follows from it."""
    return [*_standings(preview), *_gates(preview), *_verdict(preview)]


def _standings(preview: Preview) -> Iterator[Bring]:
    own = preview.cell
    changed = {b.skill.code: b for b in preview.brought}
    if own.skill.code not in changed:
        yield _as_it_was(own)
    for b in preview.brought:
        if (b.before.standing, b.before.last_day) != (b.after.standing, b.after.last_day):
            yield _changed(b.before, b.after, also_says=b.skill.code == own.skill.code)


def _as_it_was(cell: Cell) -> Bring:
    name = {"skill": cell.skill.title, "standing": _standing(cell.standing)}
    return Bring(
        mark=_mark(cell),
        standing=str(cell.standing or ""),
        strong=_("%(skill)s stays %(standing)s.") % name,
        more=cell.brief,
    )


def _changed(before: Cell, after: Cell, *, also_says: bool) -> Bring:
    words = {"skill": after.skill.title, "standing": _standing(after.standing), "before": _standing(before.standing)}
    if after.standing is Standing.SIGNED_OFF and after.last_day:
        words["day"] = written(after.last_day)
        strong = _("%(skill)s: %(standing)s, through %(day)s.") % words
    else:
        strong = _("%(skill)s: %(standing)s.") % words
    more = _("Before: %(before)s.") % words if before.standing is not after.standing else ""
    if also_says and after.standing is not Standing.SIGNED_OFF:
        more = f"{more} {after.brief}".strip()
    return Bring(mark=_mark(after), standing=str(after.standing or ""), strong=strong, more=more)


def _gates(preview: Preview) -> Iterator[Bring]:
    for b in preview.brought:
        if b.opens:
            more = _("It may be practised on the patient, with a clinician beside.") if b.after.may_practise else ""
            strong = _("Gate opens: %(skill)s.") % {"skill": b.skill.title}
            yield Bring(mark="gate_open", standing="", strong=strong, more=more)


def _verdict(preview: Preview) -> Iterator[Bring]:
    before, after = preview.verdict_before, preview.verdict_after
    if before is not after and after is not None:
        words = {
            "after": _lower(VERDICT_WORDS[after.value]),
            "before": _lower(VERDICT_WORDS[before.value]) if before else "–",
        }
        strong = _("By the programme’s rules the family is now %(after)s.") % words
        yield Bring(mark=after.value, standing="", strong=strong, more=_("Before: %(before)s.") % words)


def _mark(cell: Cell) -> str:
    return "on_pause" if cell.on_pause and cell.standing is Standing.HELD else str(cell.standing or "not_started")


def _standing(standing: Standing | None) -> str:
    return _lower(STANDING_WORDS[standing.value].staff) if standing else _("without a standing")


def _lower(word: object) -> str:
    text = str(word)
    return text[:1].lower() + text[1:]


# Around the attempt ---------------------------------------------------------------------------------------


def who_may_stop(draft: Draft) -> list[tuple[str, str]]:
    """Who can have stopped this attempt."""
    called = {"caregiver": draft.caregiver.called, "patient": draft.caregiver.family.patient_called}
    left_out = {"second"} if not draft.data["second"] else set()
    if draft.caregiver.is_patient:
        left_out.add("patient")
    return [(code, called.get(code, str(word))) for code, word in STOPPED_BY.items() if code not in left_out]


def said_around(data: Mapping[str, Any]) -> list[tuple[str, str]]:
    """What is kept besides the results, a label and a text each, as it will stand in the record."""
    return [(label, text) for label, text in _said_around(data) if text]


def _said_around(data: Mapping[str, Any]) -> Iterator[tuple[str, str]]:
    stop, reteach = data.get("stop"), data.get("reteach")
    if data["stopped"] and stop:
        yield _("Stopped by"), str(STOPPED_BY[stop["by"]])
        yield _("Why it was stopped"), stop["why"]
    if reteach:
        agreed = _("“%(line)s”") % reteach
        if reteach["on"]:
            day = {"day": written(date.fromisoformat(reteach["on"]))}
            agreed = f"{agreed} {_('To be shown again on %(day)s.') % day}"
        yield _("Agreed for next time"), agreed
    yield _("Teach-back"), data.get("teach_back", "")
    interpreter = data.get("interpreter")
    if interpreter:
        parts = (str(INTERPRETERS[interpreter["kind"]]), interpreter["language"])
        yield _("Interpreter"), ", ".join(part for part in parts if part)
        yield _("Caution"), str(FAMILY_INTERPRETER) if interpreter["kind"] == "family_member" else ""
    if data.get("feels"):
        yield _("The caregiver says"), _("“%(words)s” (kept, counts for nothing)") % {"words": FEELS[data["feels"]]}
    yield _("Note"), data.get("note", "")
