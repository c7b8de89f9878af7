"""An organisation with any number of families: their rows and their chains, in batches, with nothing kept in memory.

What the deeds would have written, but for the log's entries and the stored spans, which `rebuild_standing` works out.
"""

from __future__ import annotations

import random
import uuid
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.contrib.auth.hashers import make_password
from django.db import connection, transaction

from competency.chain import NOTHING_BEFORE, digest_of
from training.curriculum.models import Enrolment
from training.exchange.apart import apart
from training.exchange.bulk.stories import NAME, SITE, stories
from training.exchange.bulk.templates import Pattern, patterns
from training.exchange.demo.people import Home, make_home, organisations
from training.people.models import Caregiver, Family
from training.records.appending import instant_text
from training.records.models import Record

STORIES, WEEKS = 48, 3
AT_A_TIME = 250  # families in one transaction
COLUMNS = ("organisation_id", "chain", "number", "kind", "intent", "recorded_at", "body", "previous", "digest")
BEGIN = ("Al", "Bran", "Cor", "Dun", "El", "Fern", "Gris", "Hal", "Ing", "Jor", "Kel", "Lor", "Mar", "Nor", "Or", "Pel")
MIDDLE = ("ba", "de", "gi", "lo", "mu", "na", "ri", "so", "ta", "ve")
END = ("berg", "dale", "feld", "ham", "lind", "mark", "nes", "quist", "rud", "stad", "strøm", "vik", "wold", "yard")
SITES = ("", *(f"{place} {number}" for place in ("Ward", "Branch") for number in range(1, 13)))


def make_organisation(*, families: int, now: datetime, seed: int = 1, processes: int = 1) -> Home:
    """Write an organisation, its members and programme, and so many families.

    processes: how many write, each its own share; SQLite has one writer, so more gain nothing there.
    """
    about = organisations()["organisations"][0]
    with transaction.atomic():
        home = make_home(about, make_password(organisations()["password"]), now)
    if processes == 1:
        write_families(home, families, now, seed)
        return home
    shares = [families // processes + (place < families % processes) for place in range(processes)]
    for _none in apart(write_families, ((home, share, now, seed + at) for at, share in enumerate(shares)), processes):
        pass
    return home


def write_families(home: Home, families: int, now: datetime, seed: int) -> None:
    today = now.astimezone(Family(time_zone=home.organisation.time_zone).zone).date()
    told = patterns(list(stories(STORIES, seed)), home, today, WEEKS)
    rng = random.Random(seed)  # noqa: S311 - nothing secret
    for at in range(0, families, AT_A_TIME):
        with transaction.atomic():
            _write([New.made(rng, home, rng.choice(told)) for _ in range(min(AT_A_TIME, families - at))], home)


@dataclass(frozen=True, slots=True)
class New:
    """One family to write."""

    row: Family
    people: tuple[Caregiver, ...]
    pattern: Pattern
    rng: random.Random

    @classmethod
    def made(cls, rng: random.Random, home: Home, pattern: Pattern) -> New:
        name = f"{rng.choice(BEGIN)}{rng.choice(MIDDLE)}{rng.choice(END)}-{rng.choice(BEGIN)}{rng.choice(END)}"
        family = Family(
            public_id=_id(rng),
            organisation=home.organisation,
            name=name,
            patient_name=f"Ilse {name}",
            patient_called="Ilse",
            patient_born=pattern.patient_born,
            time_zone=home.organisation.time_zone,
            site=rng.choice(SITES),
        )
        return cls(family, tuple(_person(rng, family, person, pattern) for person in pattern.people), pattern, rng)

    def records(self, organisation: str) -> Iterator[tuple[Any, ...]]:
        """The chain's rows but for the organisation's number, in the order of COLUMNS."""
        chain, previous = self.row.public_id, NOTHING_BEFORE
        ids = [(p.case_id, own.case_id) for p, own in zip(self.pattern.people, self.people, strict=True)]
        for number, (kind, at, text) in enumerate(self.pattern.lines, 1):
            text = text.replace(NAME, self.row.name).replace(SITE, self.row.site)
            for pattern_id, own_id in ids:
                text = text.replace(pattern_id, own_id)
            body, intent = text.encode(), _id(self.rng)
            digest = digest_of(
                organisation=organisation,
                chain=str(chain),
                number=number,
                kind=kind,
                intent=str(intent),
                recorded_at=instant_text(at),
                body=body,
                previous=previous,
            )
            yield chain, number, kind, intent, at, body, previous, digest
            previous = digest


def _person(rng: random.Random, family: Family, like: Caregiver, pattern: Pattern) -> Caregiver:
    return Caregiver(
        public_id=_id(rng),
        family=family,
        full_name=like.full_name.replace(NAME, family.name),
        called=like.called,
        relation=like.relation,
        born=pattern.born(like),
        sets=like.sets,
    )


def _id(rng: random.Random) -> uuid.UUID:
    return uuid.UUID(int=rng.getrandbits(128), version=4)


def _write(new: Sequence[New], home: Home) -> None:
    Family.objects.bulk_create([one.row for one in new])
    Enrolment.objects.bulk_create([Enrolment(family=one.row, programme=home.programme) for one in new])
    Caregiver.objects.bulk_create([person for one in new for person in one.people])
    organisation, public_id = home.organisation.pk, str(home.organisation.public_id)
    _insert((organisation, *row) for one in new for row in one.records(public_id))


def _insert(rows: Iterator[tuple[Any, ...]]) -> None:
    table, columns = Record._meta.db_table, ", ".join(COLUMNS)
    with connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            with cursor.copy(f"COPY {table} ({columns}) FROM STDIN") as copy:
                for row in rows:
                    copy.write_row(row)
            return
        places = ", ".join(["%s"] * len(COLUMNS))
        insert = f"INSERT INTO {table} ({columns}) VALUES ({places})"  # noqa: S608 - names of ours
        cursor.executemany(insert, (_for_sqlite(row) for row in rows))


def _for_sqlite(row: tuple[Any, ...]) -> tuple[Any, ...]:
    organisation, chain, number, kind, intent, at, *rest = row
    return organisation, chain.hex, number, kind, intent.hex, connection.ops.adapt_datetimefield_value(at), *rest
