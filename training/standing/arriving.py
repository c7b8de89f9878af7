"""What was recorded without a connection, on its way in: looked through as a whole, then kept as its author's draft.

Nothing here judges the attempt, and nothing here mends it: what cannot be taken is refused with every reason, and the
device keeps it. Steps ticked that no longer apply are kept; the draft's own page asks for what is missing.
"""

from __future__ import annotations

import uuid
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from typing import Any

from django.utils.translation import gettext_lazy as _

from competency.fields import Fields, Problem
from competency.programme import Edition, Evidence, Mode, Place, Role, Setting, Step
from competency.records import Purpose, Result, Stopped
from training.people.models import Caregiver, Member
from training.records.models import Record
from training.standing import drafts
from training.standing.file import FamilyFile, open_file
from training.standing.models import Draft
from training.standing.questions import written

KEPT_FOR = timedelta(days=30)
CLOCKS_DIFFER = timedelta(minutes=5)  # a device's clock may run a little fast
SHOWN_AGAIN_WITHIN = timedelta(days=366)
LONGEST_LINE, LONGEST_NOTE = 300, 1000

WORDS = {
    "shape": _("It cannot be read: %(path)s %(message)s."),
    "author": _("It was recorded by somebody else, or in another of your places. Its author sends it, from there."),
    "intent": _("Another recording has this number already."),
    "caregiver": _("This caregiver is in no file that you may see now."),
    "self": _("You cannot observe yourself. Name another observer."),
    "skill": _("The programme does not ask for this skill to be shown."),
    "edition": _("Edition %(edition)s of %(skill)s is not published, or its first day is after %(day)s."),
    "ahead": _("%(day)s, %(time)s lies ahead where the patient is. Check this device’s clock, or the day and time."),
    "old": _("%(day)s is more than %(days)s days ago. Enter it by hand, as a late entry."),
    "no_plan": _("There is no care plan on %(day)s. A demonstration needs one on its day."),
    "step": _("Edition %(edition)s has no step “%(step)s”."),
    "may_not_skip": _("Step %(number)s may not be skipped."),
    "needs_number": _("Step %(number)s needs a number: it is measured."),
    "no_number": _("“%(typed)s”, at step %(number)s, is no number. Write one such as 12 or 7.5."),
    "not_measured": _("Step %(number)s is not measured, but has a number."),
}


@dataclass(frozen=True, slots=True)
class Reason:
    """Why something was not taken. path: where in what was sent; empty where it is about the whole."""

    code: str
    path: str = ""
    about: Mapping[str, Any] = field(default_factory=dict)

    def __str__(self) -> str:
        return str(WORDS[self.code]) % self.about


class NotTakenError(Exception):
    """What arrived cannot become a draft. Carries every reason; nothing was changed."""

    def __init__(self, reasons: Iterable[Reason]) -> None:
        self.reasons = tuple(reasons)
        super().__init__("; ".join(r.code for r in self.reasons))


@dataclass(frozen=True, slots=True, kw_only=True)
class Receipt:
    """What became of an intent: the draft, or the record it has been signed as. The same however often it is asked."""

    intent: uuid.UUID
    draft: Draft | None = None
    record: Record | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Parcel:
    """What a device sent, read. on, seconds: when it was seen, by the family's clock."""

    intent: uuid.UUID
    author: str
    family: uuid.UUID
    caregiver: uuid.UUID
    data: dict[str, Any]
    on: date
    clock: time


def arrive(*, author: Member, sent: Any, at: datetime) -> Receipt:
    """Keep one recording as its author's draft, ready to sign. Sent again, it gives the same receipt.

    Raises NotTakenError.
    """
    parcel = read_parcel(sent)
    if parcel.author != author.observer_id:
        raise NotTakenError([Reason("author", "author")])
    receipt = _arrived_before(parcel, author)
    if receipt is not None:
        return receipt
    caregiver = _caregiver(parcel, author)
    reasons = list(_reasons(parcel, author, caregiver, at))
    if reasons:
        raise NotTakenError(reasons)
    data = {**parcel.data, "results": _as_kept(parcel.data["results"])}
    data |= {"observers": [author.observer_id], "second": None, "began": None}
    try:
        draft = drafts.start(author=author, caregiver=caregiver, data=data, intent=parcel.intent, at=at)
    except drafts.NotYourDraftError:
        raise NotTakenError([Reason("intent", "intent")]) from None
    return Receipt(intent=parcel.intent, draft=draft)


def _arrived_before(parcel: Parcel, author: Member) -> Receipt | None:
    """Raises NotTakenError where the intent is somebody else's, or about somebody else."""
    record = Record.objects.filter(intent=parcel.intent).first()
    draft = Draft.objects.filter(intent=parcel.intent).select_related("caregiver").first()
    if record is None and draft is None:
        return None
    if record is not None:
        body = record.data
        is_same = record.kind == "demonstration" and body["signed"]["id"] == author.observer_id
        is_same = is_same and body["caregiver"] == str(parcel.caregiver)
    else:
        is_same = draft.author_id == author.pk and draft.caregiver.public_id == parcel.caregiver
    if not is_same:
        raise NotTakenError([Reason("intent", "intent")])
    return Receipt(intent=parcel.intent, record=record, draft=None if record else draft)


def _caregiver(parcel: Parcel, author: Member) -> Caregiver:
    rows = Caregiver.objects.visible_to(author).select_related("family__organisation", "family__enrolment__programme")
    found = rows.filter(public_id=parcel.caregiver, family__public_id=parcel.family).first()
    if found is None:
        raise NotTakenError([Reason("caregiver", "caregiver")])
    return found


# Does it fit the file -------------------------------------------------------------------------------------


def _reasons(parcel: Parcel, author: Member, caregiver: Caregiver, at: datetime) -> Iterator[Reason]:
    file = open_file(caregiver.family)
    if drafts.observes_themself(author, caregiver):
        yield Reason("self", "author")
    yield from _about_the_day(parcel, file, at)
    skill = file.rules.skills.get(parcel.data["skill"])
    if skill is None or skill.evidence is Evidence.CERTIFICATE:
        yield Reason("skill", "data.skill")
        return
    edition = skill.edition(parcel.data["edition"])
    if edition is None or parcel.on < edition.in_force_from:
        about = {"edition": parcel.data["edition"], "skill": file.words.skill(skill.code).title}
        yield Reason("edition", "data.edition", {**about, "day": written(parcel.on)})
        return
    yield from _about_the_steps(parcel, edition)


def _about_the_day(parcel: Parcel, file: FamilyFile, at: datetime) -> Iterator[Reason]:
    day = {"day": written(parcel.on)}
    seen = datetime.combine(parcel.on, parcel.clock, file.family.zone)
    first = file.history().known.first_day
    if seen > at + CLOCKS_DIFFER:
        yield Reason("ahead", "data.on", {**day, "time": f"{parcel.clock:%H:%M}"})
    if parcel.on < file.family.today(at) - KEPT_FOR:
        yield Reason("old", "data.on", {**day, "days": KEPT_FOR.days})
    if first is None or parcel.on < first:
        yield Reason("no_plan", "data.on", day)


def _about_the_steps(parcel: Parcel, edition: Edition) -> Iterator[Reason]:
    steps = {step.code: (number, step) for number, step in enumerate(edition.steps, 1)}
    for code, seen in parcel.data["results"].items():
        path = f"data.results.{code}"
        if code not in steps:
            yield Reason("step", path, {"edition": edition.number, "step": code})
            continue
        number, step = steps[code]
        result, value = (seen["result"], seen["value"]) if isinstance(seen, dict) else (seen, None)
        yield from (Reason(why, path, {"number": number, "typed": value}) for why in _about_a_step(step, result, value))


def _about_a_step(step: Step, result: str, value: str | None) -> Iterator[str]:
    if result == Result.NOT_APPLICABLE and not step.may_skip:
        yield "may_not_skip"
    if step.measure is None:
        if value is not None:
            yield "not_measured"
    elif value is None:
        if result == Result.INDEPENDENT:
            yield "needs_number"
    elif not _is_number(value):
        yield "no_number"


def _is_number(value: str) -> bool:
    try:
        drafts.number_typed(value)
    except drafts.NoNumberError:
        return False
    return True


def _as_kept(results: Mapping[str, Any]) -> dict[str, Any]:
    """Numbers as a draft keeps them, and none where nothing was seen."""
    kept: dict[str, Any] = {}
    for code, seen in results.items():
        if isinstance(seen, dict) and seen["result"] not in drafts.VALUELESS:
            kept[code] = {**seen, "value": drafts.number_typed(seen["value"])}
        else:
            kept[code] = seen["result"] if isinstance(seen, dict) else seen
    return kept


# Is it what a device sends --------------------------------------------------------------------------------


def read_parcel(sent: Any) -> Parcel:
    """Raises NotTakenError with every place that cannot be read; a key nobody knows is one."""
    problems: list[Problem] = []
    fields = Fields(sent, "", problems)
    ids = {key: _id(fields, key) for key in ("intent", "family", "caregiver")}
    author = _words(fields, "author", LONGEST_LINE)
    data = _read_data(fields.part("data"))
    fields.done()
    if problems:
        raise NotTakenError(Reason("shape", p.path, {"path": p.path, "message": p.message}) for p in problems)
    on, clock = date.fromisoformat(data["on"]), time.fromisoformat(data["time"])
    return Parcel(author=author, data=data, on=on, clock=clock, **ids)


def _read_data(data: Fields) -> dict[str, Any]:
    on = data.day("on")
    data.seconds("time")
    read: dict[str, Any] = {
        "purpose": data.choice("purpose", Purpose),
        "on": on.isoformat() if on else None,
        "time": data.raw("time"),
        "skill": _words(data, "skill", 60),
        "edition": data.whole("edition", 1, 10_000),
        "setting": data.choice("setting", Setting),
        "role": data.choice("role", Role),
        "mode": data.choice("mode", Mode),
        "place": data.choice("place", Place),
        "results": dict(_results(data)),
        "stopped": data.choice_or_none("stopped", Stopped),
        **_read_words(data, on),
    }
    if read["stopped"] is None and "stop" in read:
        data.refuse("stop", "says who stopped, and nothing was stopped")
    data.done()
    return read


def _results(data: Fields) -> Iterator[tuple[str, Any]]:
    for path, code, given in data.pairs("results"):
        if isinstance(given, dict):
            one = Fields(given, path, data.problems)
            yield code, {"result": one.choice("result", Result), "value": _words(one, "value", 20)}
            one.done()
        else:
            one = Fields({"result": given}, path, data.problems)
            yield code, one.choice("result", Result)


def _read_words(data: Fields, on: date | None) -> dict[str, Any]:
    """What may be written besides: each only where it was."""
    read: dict[str, Any] = {}
    for key in ("teach_back", "note"):
        if data.has_key(key):
            read[key] = _words(data, key, LONGEST_NOTE)
    if data.has_key("feels"):
        read["feels"] = data.choice("feels", drafts.FEELS)
    if data.has_key("stop"):
        stop = data.part("stop")
        read["stop"] = {
            "by": stop.choice("by", drafts.STOPPED_BY),
            "why": _words(stop, "why", LONGEST_LINE, required=False),
        }
        stop.done()
    if data.has_key("interpreter"):
        one = data.part("interpreter")
        read["interpreter"] = {
            "kind": one.choice("kind", drafts.INTERPRETERS),
            "language": _words(one, "language", 60, required=False),
        }
        one.done()
    if data.has_key("reteach"):
        read["reteach"] = _reteach(data.part("reteach"), on)
    return read


def _reteach(part: Fields, on: date | None) -> dict[str, Any]:
    again = part.day("on", required=False)
    if again is not None and on is not None and not on <= again <= on + SHOWN_AGAIN_WITHIN:
        part.refuse("on", "is not a day within a year of the demonstration")
    read = {"line": _words(part, "line", LONGEST_LINE), "on": again.isoformat() if again else None}
    part.done()
    return read


def _id(fields: Fields, key: str) -> uuid.UUID | None:
    text = _words(fields, key, 36)
    try:
        return uuid.UUID(text) if text else None
    except ValueError:
        fields.refuse(key, "is no identifier")
        return None


def _words(fields: Fields, key: str, longest: int, *, required: bool = True) -> str:
    """A text that every database can keep: no NUL, no half of a character pair."""
    text = fields.raw(key, required=required)
    if text is None and not (required and fields.has_key(key)):
        return ""
    if not isinstance(text, str) or (required and not text.strip()):
        fields.refuse(key, "is not a text")
        return ""
    if len(text) > longest:
        fields.refuse(key, f"is longer than {longest} characters")
    elif "\0" in text or any("\ud800" <= c <= "\udfff" for c in text):
        fields.refuse(key, "holds what is no letter")
    return text.strip()
