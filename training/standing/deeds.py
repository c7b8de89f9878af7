"""The deeds: judge what is asked, append it to the record, bring projections and stored spans up to date.

Each deed is one transaction. Each takes an intent: the same intent again gives the record that is there.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date, datetime, time
from typing import Any

from django.db import transaction

from competency.fields import Problem, RefusedError
from training.curriculum.models import Enrolment, Programme
from training.curriculum.programme_file import ProgrammeFile, plain
from training.people.access import assign
from training.people.models import Caregiver, Family, Member, Organisation
from training.records.appending import AlreadyRecordedError, append, hold_still, lock_chain
from training.records.models import Record
from training.standing import oneself, other_kinds
from training.standing.cache import refresh, refresh_followers
from training.standing.drafts import as_written
from training.standing.file import FamilyFile, open_file, read_rules, unsaved
from training.standing.models import AssessedBy, Draft
from training.standing.programme_records import bodies_of, write
from training.standing.projecting import project
from training.standing.signing import refuse_role_account, shown_digest, signed_by


class DraftMovedError(Exception):
    """What was to be signed is not what stood on the screen. Nothing was written."""


# One record of a family's file ----------------------------------------------------------------------------


@transaction.atomic
def record(
    *,
    family: Family,
    kind: str,
    body: Mapping[str, Any],
    by: Member | Caregiver,
    intent: uuid.UUID,
    at: datetime,
    together: Sequence[str] = (),
) -> Record:
    """Judge and append one record to a family's file.

    body: what the kind asks for (`training.standing.file` lists the keys), without the signature, which is added.
    together: the intents of all records that one signature covers, where it covers several.
    Raises RefusedError, whose paths start inside the body, and writes nothing, when the rules refuse it.
    """
    lock_chain(family.public_id)
    there = Record.objects.filter(intent=intent).first()
    if there is not None:
        return _same_deed(there, family, kind)
    hold_still(family.enrolment.programme.public_id)
    hold_still(family.organisation.public_id)  # a word on a qualification waits for this deed, or this deed for it
    family.enrolment.programme.refresh_from_db()  # the view read it before anybody could publish
    file = open_file(family)
    refuse_role_account(by)
    signed = signed_by(by, kind=kind, at=at, family=family, body=body)
    whole = {**body, "signed": {**signed, "together": list(together)} if len(together) > 1 else signed}
    checked = check(file, kind, whole, intent, at)
    made = append(organisation=family.organisation, chain=family.public_id, kind=kind, body=whole, intent=intent, at=at)
    project(family, made)
    refresh(checked, head=made.digest)
    return made


def _same_deed(there: Record, family: Family, kind: str) -> Record:
    """The record that this intent is already. Raises AlreadyRecordedError where that is another deed."""
    if (there.chain, there.kind) != (family.public_id, kind):
        raise AlreadyRecordedError(there)
    return there


def check(file: FamilyFile, kind: str, body: Mapping[str, Any], intent: uuid.UUID, at: datetime) -> FamilyFile:
    """Let the rules read the file with this record in it, and give that file back.

    Raises RefusedError with paths inside the body.
    """
    problems = [*_not_yet(file.family, kind, body, at), *other_kinds.problems(file, kind, body, at)]
    problems += oneself.problems(file, kind, body)
    checked = file.with_record(unsaved(file.family, kind, body, intent, at))
    try:
        _read = checked.whole_case
    except RefusedError as refusal:
        problems += [Problem(_inside(p.path), p.message) for p in refusal.problems]
    if problems:
        raise RefusedError(problems)
    return checked


def _inside(path: str) -> str:
    """The part of a case's path that lies in the record: after the last list it stands in."""
    for marker in ("].records[", "["):
        if marker in path:
            rest = path.split(marker, 1)[1]
            return rest.split("].", 1)[1] if "]." in rest else path
    return path


_MAY_LIE_AHEAD = frozenset({"care_plan", "authorisation", "exception", "hold", "family", "caregiver", "void"})


def _not_yet(family: Family, kind: str, body: Mapping[str, Any], at: datetime) -> Iterable[Problem]:
    """What was seen cannot lie ahead, where the patient is."""
    on = body.get("on")
    if kind in _MAY_LIE_AHEAD or not isinstance(on, str):
        return
    try:
        day = date.fromisoformat(on)
        clock = time.fromisoformat(body["time"]) if body.get("time") else time.min
    except ValueError:
        return  # the rules name it
    now = at.astimezone(family.zone)
    if day > now.date():
        yield Problem("on", "lies ahead: it is not that day yet where the patient is")
    elif datetime.combine(day, clock, family.zone) > now:
        yield Problem("time", "lies ahead: it is not that late yet where the patient is")


def iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


# Families and caregivers ----------------------------------------------------------------------------------


@transaction.atomic
def open_family(
    *,
    programme: Programme,
    name: str,
    patient_name: str,
    patient_called: str,
    patient_born: date | None,
    time_zone: str,
    by: Member,
    intent: uuid.UUID,
    at: datetime,
    site: str = "",
) -> Family:
    """Start a family's file. The family's public id is made from the intent, so the same post opens one family."""
    public_id = uuid.uuid5(intent, "family")
    there = Family.objects.filter(public_id=public_id, organisation=by.organisation).first()
    if there is not None:
        return there
    family = Family.objects.create(
        public_id=public_id,
        organisation=by.organisation,
        name=name,
        patient_name=patient_name,
        patient_called=patient_called,
        patient_born=patient_born,
        time_zone=time_zone,
        site=site,
    )
    Enrolment.objects.create(family=family, programme=programme)
    assign(member=by, family=family, at=at)
    body = {
        "name": name,
        "patient": {"name": patient_name, "called": patient_called, "born": iso(patient_born)},
        "zone": time_zone,
        "site": site,
        "programme": str(programme.public_id),
    }
    record(family=family, kind="family", body=body, by=by, intent=intent, at=at)
    return family


def write_caregiver(
    *,
    family: Family,
    full_name: str,
    called: str,
    relation: str,
    born: date | None,
    is_patient: bool,
    from_day: date | None,
    through: date | None,
    sets: list[str],
    by: Member,
    intent: uuid.UUID,
    at: datetime,
    caregiver: Caregiver | None = None,
) -> Caregiver:
    """Add a caregiver, or write down what changed about one."""
    public_id = caregiver.public_id if caregiver else uuid.uuid5(intent, "caregiver")
    body = {
        "id": str(public_id),
        "name": full_name,
        "called": called,
        "relation": relation,
        "born": iso(born),
        "is_patient": is_patient,
        "from": iso(from_day),
        "through": iso(through),
        "sets": list(sets),
    }
    record(family=family, kind="caregiver", body=body, by=by, intent=intent, at=at)
    return Caregiver.objects.get(public_id=public_id, family=family)


# Demonstrations -------------------------------------------------------------------------------------------


def body_of(draft: Draft) -> dict[str, Any]:
    """What signing this draft would write, but for the signature."""
    data = draft.data
    second = {**data["second"], "results": as_written(data["second"]["results"])} if data["second"] else None
    return {"caregiver": draft.caregiver.case_id, **data, "results": as_written(data["results"]), "second": second}


@transaction.atomic
def sign_draft(*, draft: Draft, by: Member, shown: str, at: datetime) -> Record:
    """Turn a draft into a signed record and throw the draft away.

    shown: the digest of what stood on the screen. Raises DraftMovedError when the draft is another by now, and
    RefusedError when the rules refuse it. The same draft signed twice gives the same record.
    """
    family = draft.caregiver.family
    lock_chain(family.public_id)
    there = Record.objects.filter(intent=draft.intent).first()
    if there is not None:
        return _same_deed(there, family, "demonstration")
    return _sign(Draft.objects.select_for_update().get(pk=draft.pk), by=by, shown=shown, at=at)


@transaction.atomic
def sign_drafts(*, family: Family, shown: Mapping[uuid.UUID, str], by: Member, at: datetime) -> list[Record]:
    """Turn the drafts of one sitting into signed records, one each, all or none; each signature lists them all.

    shown: intents, each with the digest of what stood on the screen of that draft. Raises DraftMovedError when one of
    them is another by now, is gone, or was signed otherwise; RefusedError when the rules refuse one. The same drafts
    signed twice give the same records.
    """
    lock_chain(family.public_id)
    there = list(Record.objects.of_chain(family.public_id).filter(intent__in=shown))
    if len(there) == len(shown) and all(one.data["signed"]["id"] == by.observer_id for one in there):
        return there
    rows = Draft.objects.select_for_update(of=("self",)).select_related("caregiver__family__organisation")
    drafts = list(rows.filter(author=by, caregiver__family=family, intent__in=shown))
    if there or len(drafts) != len(shown):
        raise DraftMovedError(family.public_id)
    drafts.sort(key=signing_order)
    together = [str(draft.intent) for draft in drafts]
    return [_sign(draft, by=by, shown=shown[draft.intent], at=at, together=together) for draft in drafts]


def signing_order(draft: Draft) -> tuple[str, str, str]:
    """As they were seen: by day and time."""
    return draft.data["on"], draft.data["time"], str(draft.intent)


def _sign(draft: Draft, *, by: Member, shown: str, at: datetime, together: Sequence[str] = ()) -> Record:
    body = body_of(draft)
    if shown_digest(body) != shown:
        raise DraftMovedError(draft.public_id)
    made = record(
        family=draft.caregiver.family,
        kind="demonstration",
        body={**body, "shown": shown},
        by=by,
        intent=draft.intent,
        at=at,
        together=together,
    )
    draft.delete()
    return made


# The organisation -----------------------------------------------------------------------------------------


@transaction.atomic
def qualify(
    *,
    observer: Member,
    skill: str | None,
    from_day: date,
    through: date | None,
    by: Member,
    intent: uuid.UUID,
    at: datetime,
) -> Record:
    """State that a member may assess a skill (None: every skill) on these days.

    Raises AlreadyRecordedError where the intent is another record.
    """
    body = {"observer": observer.observer_id, "skill": skill, "from": iso(from_day), "through": iso(through)}
    made = _append_staff_record(observer.organisation, "qualification", body, by, intent, at)
    refresh_followers(_assessed_by(observer.organisation, {body["observer"]}))
    return made


@transaction.atomic
def qualify_many(
    *,
    observers: Sequence[Member],
    skills: Sequence[str | None],
    from_day: date,
    through: date | None,
    by: Member,
    intent: uuid.UUID,
    at: datetime,
) -> list[Record]:
    """State under one signature that each of these members may assess each of these skills: a record for each.

    Raises AlreadyRecordedError where an intent is another record.
    """
    pairs = [(observer, skill) for observer in observers for skill in skills]
    intents = [intent] if len(pairs) == 1 else [uuid.uuid5(intent, f"{o.observer_id} {s}") for o, s in pairs]
    days = {"from": iso(from_day), "through": iso(through)}
    made = [
        _append_staff_record(
            by.organisation,
            "qualification",
            {"observer": observer.observer_id, "skill": skill, **days},
            by,
            own,
            at,
            together=[str(one) for one in intents],
        )
        for (observer, skill), own in zip(pairs, intents, strict=True)
    ]
    refresh_followers(_assessed_by(by.organisation, {observer.observer_id for observer in observers}))
    return made


@transaction.atomic
def end_qualification(
    *, qualification: Record, last_day: date, reason: str, by: Member, intent: uuid.UUID, at: datetime
) -> None:
    """Let a statement hold through this day only: it is voided, and what still holds of it is stated anew.

    A last day before its first voids it whole. What was assessed after the last day becomes practice. Raises
    RefusedError where somebody ended it before, AlreadyRecordedError where the intent is another record.
    """
    body, organisation = qualification.data, by.organisation
    lock_chain(organisation.public_id)
    there = Record.objects.filter(intent=intent).first()
    if there is not None:
        if there.kind == "void" and there.data["record"] == str(qualification.intent):
            return
        raise AlreadyRecordedError(there)
    voids = Record.objects.of_chain(organisation.public_id).filter(kind="void")
    if any(void.data["record"] == str(qualification.intent) for void in voids):
        raise RefusedError([Problem("last_day", "this statement has ended already")])
    void = {"record": str(qualification.intent), "reason": reason}
    _append_staff_record(organisation, "void", void, by, intent, at)
    if last_day.isoformat() >= body["from"]:
        rest = {name: body[name] for name in ("observer", "skill", "from")} | {"through": last_day.isoformat()}
        _append_staff_record(organisation, "qualification", rest, by, uuid.uuid5(intent, "rest"), at)
    refresh_followers(_assessed_by(organisation, {body["observer"]}))


def _assessed_by(organisation: Organisation, observers: set[str]) -> Iterable[Family]:
    """The families in which one of these observers assessed or sat beside: no other rests on their qualification."""
    named = AssessedBy.objects.filter(organisation=organisation, observer__in=observers).values("family")
    rows = Family.objects.filter(pk__in=named).select_related("organisation", "enrolment__programme")
    return rows.order_by("pk")


def _append_staff_record(
    organisation: Organisation,
    kind: str,
    body: Mapping[str, Any],
    by: Member,
    intent: uuid.UUID,
    at: datetime,
    together: Sequence[str] = (),
) -> Record:
    """Write the next record of an organisation's own chain; the stored spans are the caller's to refresh.

    Raises AlreadyRecordedError where the intent is another record: nothing may be said to be signed that is not.
    """
    chain = organisation.public_id
    lock_chain(chain)
    there = Record.objects.filter(intent=intent, chain=chain).first()
    if there is not None:
        if (there.kind, {name: value for name, value in there.data.items() if name != "signed"}) != (kind, {**body}):
            raise AlreadyRecordedError(there)
        return there
    refuse_role_account(by)
    signed = signed_by(by, kind=kind, at=at)
    whole = {**body, "signed": {**signed, "together": list(together)} if len(together) > 1 else signed}
    return append(organisation=organisation, chain=chain, kind=kind, body=whole, intent=intent, at=at)


# The curriculum -------------------------------------------------------------------------------------------


@transaction.atomic
def publish_programme(
    *, organisation: Organisation, file: ProgrammeFile, at: datetime, intents: Callable[[], uuid.UUID] = uuid.uuid4
) -> Programme:
    """Publish a checked programme file that is new to the organisation.

    Raises RefusedError when the organisation has a programme of this code, or an edition would begin before tomorrow.
    """
    if Programme.objects.filter(organisation=organisation, code=file.code).exists():
        raise RefusedError([Problem("code", f'"{file.code}" is published already')])
    programme = Programme(organisation=organisation, code=file.code, title=file.title, about=plain(file.about))
    lock_chain(programme.public_id)
    write(programme, bodies_of(file), at=at, intents=intents)
    read_rules(programme)  # raises where an edition would begin before tomorrow
    return programme
