"""Rechecks in bulk, under one signature: everyone one observer signed between two dates, or everyone on one device."""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.db import transaction
from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from competency.standing import Standing
from training.log import writing as log
from training.people.models import Caregiver, Family, Member
from training.records.appending import hold_still, lock_chain
from training.records.models import Record
from training.standing.cache import FORM
from training.standing.deeds import record
from training.standing.file import SEEN, open_file
from training.standing.models import AssessedBy
from training.standing.questions import FamilyOn
from training.standing.signing import shown_digest

A_DAY = timedelta(days=1)  # a record of a day is made on it or later, by any clock on earth


class ListMovedError(Exception):
    """Who would be touched is not who stood on the screen. Nothing was written."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Touched:
    """One caregiver and skill (None: every skill) to be shown again. standing: of the one skill, today."""

    family: Family
    caregiver: Caregiver
    skill: str | None
    title: str
    standing: Standing | None

    def intent(self, deed: uuid.UUID) -> uuid.UUID:
        return uuid.uuid5(deed, f"{self.caregiver.case_id} {self.skill or '*'}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Who is touched, family by family; closed: families left out because their file is closed today."""

    touched: tuple[Touched, ...]
    closed: int

    @property
    def families(self) -> int:
        return len({one.family.pk for one in self.touched})

    @property
    def people(self) -> int:
        return len({one.caregiver.pk for one in self.touched})

    def digest(self, reason: str) -> str:
        """Of all that the signature covers as it stands on the screen."""
        rows = [[str(t.family.public_id), t.caregiver.case_id, t.skill, t.standing] for t in self.touched]
        return shown_digest({"touched": rows, "closed": self.closed, "reason": reason})


# Whom it touches ------------------------------------------------------------------------------------------


def signed_by_observer(member: Member, observer: Member, first: date, last: date, now: datetime) -> Found:
    """Every caregiver and skill that this observer saw, agreed to or took over from ``first`` through ``last``.

    A second observer and whoever typed from paper are meant too. What was voided is passed over.
    """
    rows = Record.objects.filter(
        organisation=member.organisation,
        chain__in=_assessed_by(member, observer).values("public_id"),
        kind__in=SEEN,
        recorded_at__gte=datetime.combine(first - A_DAY, datetime.min.time(), now.tzinfo),
    )
    chains = set(rows.values_list("chain", flat=True))

    def pairs(picture: FamilyOn) -> Iterator[tuple[str, str | None]]:
        voided = picture.voids()
        for one in picture.records:
            if one.kind in SEEN and str(one.intent) not in voided and _is_theirs(one.data, observer, first, last):
                yield one.data["caregiver"], one.data["skill"]

    return _found(member, chains, pairs, now)


def _assessed_by(member: Member, observer: Member) -> QuerySet[Family]:
    """The families in which they may have, by the stored rows; all whose rows have another form than this version's."""
    named = AssessedBy.objects.visible_to(member).filter(observer=observer.observer_id)
    families = Family.objects.visible_to(member)
    return families.filter(Q(pk__in=named.values("family")) | ~Q(cache_state__form=FORM))


def _is_theirs(body: Mapping[str, Any], observer: Member, first: date, last: date) -> bool:
    names = {*body.get("observers", ()), (body.get("second") or {}).get("observer"), body["signed"]["id"]}
    return observer.observer_id in names and first.isoformat() <= body["on"] <= last.isoformat()


def on_device(member: Member, fact: str, value: str, skills: Sequence[str | None], now: datetime) -> Found:
    """Every caregiver here today whose patient's care plan in force states this, in these skills (None: every one).

    value: as `device_value` writes it.
    """
    chains = {chain for chain, facts in _plans(member) if fact in facts and device_value(facts[fact]) == value}

    def pairs(picture: FamilyOn) -> Iterator[tuple[str, str | None]]:
        stated = picture.care_plan.data["facts"] if picture.care_plan else {}
        if fact in stated and device_value(stated[fact]) == value:
            for caregiver in picture.caregivers:
                if picture.history.caregivers[caregiver.case_id].is_here(picture.day):
                    yield from ((caregiver.case_id, s) for s in skills if s is None or s in picture.file.rules.skills)

    return _found(member, chains, pairs, now)


def devices(member: Member) -> list[tuple[str, list[str]]]:
    """Every fact that a care plan of these families states, with the values stated, as `device_value` writes them.

    Numbers run from the lowest to the highest.
    """
    found: dict[str, dict[str, Any]] = {}
    for _chain, facts in _plans(member):
        for fact, value in facts.items():
            found.setdefault(fact, {})[device_value(value)] = value
    return [(fact, sorted(values, key=lambda text: _rank(values[text]))) for fact, values in found.items()]


def _rank(value: Any) -> tuple[float, str]:
    return (0.0, str(value)) if isinstance(value, bool | str) else (float(value), "")


def device_value(value: Any) -> str:
    """A care plan's value as one text, however its number was typed: 5 and 5.0 are one tube."""
    if isinstance(value, bool | str):
        return str(value)
    return f"{float(value):g}"


def _plans(member: Member) -> Iterator[tuple[uuid.UUID, Mapping[str, Any]]]:
    """Every care plan entry ever made: a superset, of which the rules say what is in force."""
    visible = set(Family.objects.visible_to(member).values_list("public_id", flat=True))
    rows = Record.objects.filter(organisation=member.organisation, kind="care_plan")
    return ((r.chain, r.data["facts"]) for r in rows.newest_first() if r.chain in visible)


Pairs = Callable[[FamilyOn], Iterable[tuple[str, str | None]]]


def _found(member: Member, chains: Iterable[uuid.UUID], pairs: Pairs, now: datetime) -> Found:
    rows = Family.objects.visible_to(member).filter(public_id__in=list(chains)).order_by("name", "pk")
    touched: list[Touched] = []
    closed = 0
    for family in rows.select_related("organisation", "enrolment__programme"):
        today = family.today(now)
        picture = FamilyOn(open_file(family), today)
        ours = list(dict.fromkeys(pairs(picture)))
        if ours and family.is_closed_on(today):
            closed += 1
        else:
            touched += _touched(picture, ours)
    return Found(touched=tuple(touched), closed=closed)


def _touched(picture: FamilyOn, pairs: Iterable[tuple[str, str | None]]) -> Iterator[Touched]:
    people = {c.case_id: c for c in picture.caregivers}
    for case_id, skill in pairs:
        if case_id in people:
            yield Touched(
                family=picture.family,
                caregiver=people[case_id],
                skill=skill,
                title=_("Every skill") if skill is None else picture.words.skill(skill).title,
                standing=None if skill is None else picture.cell(people[case_id], skill).standing,
            )


# The deed -------------------------------------------------------------------------------------------------


@transaction.atomic
def recheck_many(
    *, find: Callable[[], Found], shown: str, reason: str, by: Member, intent: uuid.UUID, at: datetime
) -> list[Record]:
    """Ask to see all of these again: a record in each family's own file, all or none; the log names their number.

    find: works out who is touched. shown: the digest of who stood on the screen. A file knows only how many others
    there are. Raises ListMovedError where somebody else is touched by now, RefusedError where the rules refuse one.
    The same intent again gives the records that are there.
    """
    before = find()
    chains = {one.family.public_id for one in before.touched}
    _stop_every_deed(by, {one.family for one in before.touched})
    intents = [one.intent(intent) for one in before.touched]
    there = list(Record.objects.filter(chain__in=chains, kind="recheck", intent__in=intents))
    if there:
        return there
    found = find()  # once more, now that nobody else writes: in these files, nor in one that would be touched too
    if not found.touched or found.digest(reason) != shown:
        raise ListMovedError
    made = [_recheck(one, found, reason, by, intent, at) for one in found.touched]
    log.deed(
        organisation=by.organisation,
        what="rechecked-many",
        by=log.who(by),
        at=at,
        of=log.many(found.families),
        families=str(found.families),
        records=str(len(made)),
    )
    return made


def _stop_every_deed(by: Member, families: Iterable[Family]) -> None:
    """Let nobody else write in any family's file of the organisation until the transaction ends.

    The locks of `deeds.record` in its order; the last one keeps out whoever would touch a file that is not on the list.
    """
    rows = list(families)
    for chain in sorted({family.public_id for family in rows}):
        lock_chain(chain)
    for chain in sorted({family.enrolment.programme.public_id for family in rows}):
        hold_still(chain)
    lock_chain(by.organisation.public_id)


def _recheck(one: Touched, found: Found, reason: str, by: Member, intent: uuid.UUID, at: datetime) -> Record:
    local = at.astimezone(one.family.zone)
    body = {
        "caregiver": one.caregiver.case_id,
        "skill": one.skill,
        "on": local.date().isoformat(),
        "time": local.strftime("%H:%M"),
        "reason": reason,
        "one_of": {"deed": str(intent), "families": found.families, "records": len(found.touched)},
    }
    own = [str(other.intent(intent)) for other in found.touched if other.family == one.family]
    return record(family=one.family, kind="recheck", body=body, by=by, intent=one.intent(intent), at=at, together=own)
