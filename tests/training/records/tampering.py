"""What somebody with the file in their hands could do to it: random attacks on a table of records and on an export.

Each attack is drawn from a seeded generator, does something that matters, and says of which kind it was. What the
chain cannot show is not drawn here: a record appended with a right digest, a whole chain written anew.
"""

from __future__ import annotations

import hashlib
import random
import sys
import uuid
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from functools import cache
from typing import Any

from competency.chain import canonical
from competency.chain_reading import Entry
from competency.verify import FORMAT, read_canonical
from training.exchange.exporting import entry_line
from training.records.guards import TABLE
from training.records.stored import stored

HEX = "0123456789abcdef"
COLUMNS = ("kind", "intent", "recorded_at", "body", "previous", "digest", "organisation_id", "number", "chain")


@dataclass(frozen=True, kw_only=True)
class Attack:
    """kind: as counted. head: the digest that a packet printed before; what a cut tail shows by."""

    kind: str
    head: str


def report(done: Counter[str]) -> None:
    """How often each kind was done: shown by `pytest -s`, and where a test fails."""
    sys.stdout.write("\n" + "".join(f"{count:6} {kind}\n" for kind, count in sorted(done.items())))


def changed_text(draw: random.Random, text: str, letters: str = HEX) -> str:
    at = draw.randrange(len(text))
    return text[:at] + draw.choice([c for c in letters if c != text[at]]) + text[at + 1 :]


def changed_bytes(draw: random.Random, data: bytes) -> bytes:
    """One byte other, gone, or more."""
    at = draw.randrange(len(data))
    how = draw.choice(("other", "gone", "more"))
    if how == "gone":
        return data[:at] + data[at + 1 :]
    more = bytes([draw.randrange(256)])
    made = data[:at] + more + data[at + (how == "other") :]
    return made if made != data else changed_bytes(draw, data)


# The table ------------------------------------------------------------------------------------------------


class Table:
    """The table of records of one database, as an attacker sees it; the triggers are lifted already."""

    def __init__(self, connection: Any) -> None:
        self.connection = connection
        self.sqlite = connection.vendor == "sqlite"
        self.chains: dict[str, list[Entry]] = {}
        for entry in stored(connection):
            self.chains.setdefault(entry.chain, []).append(entry)
        self.organisations = [row[0] for row in self.ask("SELECT id FROM people_organisation ORDER BY id")]
        self.long = [chain for chain, entries in self.chains.items() if len(entries) >= 3]

    def ask(self, sql: str, *values: Any) -> list[Any]:
        with self.connection.cursor() as cursor:
            cursor.execute(sql, values)
            return cursor.fetchall() if cursor.description else []

    def uuid(self, text: str) -> Any:
        return uuid.UUID(text).hex if self.sqlite else uuid.UUID(text)

    def where(self, entry: Entry) -> tuple[Any, int]:
        return self.uuid(entry.chain), entry.number

    def set(self, entry: Entry, **columns: Any) -> None:
        names = ", ".join(f"{name} = %s" for name in columns)
        self.ask(f"UPDATE {TABLE} SET {names} WHERE chain = %s AND number = %s", *columns.values(), *self.where(entry))

    def delete(self, entry: Entry) -> None:
        self.ask(f"DELETE FROM {TABLE} WHERE chain = %s AND number = %s", *self.where(entry))

    def row(self, entry: Entry) -> dict[str, Any]:
        at = datetime.fromisoformat(entry.recorded_at)
        return {
            "kind": entry.kind,
            "intent": self.uuid(entry.intent),
            "recorded_at": f"{at:%Y-%m-%d %H:%M:%S.%f}" if self.sqlite else at,
            "body": entry.body,
            "previous": entry.previous,
            "digest": entry.digest,
        }

    def insert(self, entry: Entry, organisation: int) -> None:
        row = {"organisation_id": organisation, "chain": self.uuid(entry.chain), "number": entry.number}
        row |= self.row(entry)
        marks = ", ".join(["%s"] * len(row))
        self.ask(f"INSERT INTO {TABLE} ({', '.join(row)}) VALUES ({marks})", *row.values())


def attack_table(draw: random.Random, table: Table) -> Attack:
    """Do one thing to the table."""
    entries = table.chains[draw.choice(table.long)]
    attack = draw.choice((edit, edit, edit, rewrite, delete, swap_numbers, swap_bodies, insert, append_badly, cut_tail))
    kind = attack(draw, table, entries)
    return Attack(kind=kind, head=entries[-1].digest)


def edit(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    entry, column = draw.choice(entries), draw.choice(COLUMNS)
    table.set(entry, **{column: edited(draw, table, entries, entry, column)})
    return f"edit {column}"


def edited(draw: random.Random, table: Table, entries: list[Entry], entry: Entry, column: str) -> Any:
    if column == "kind":
        return changed_text(draw, entry.kind, "abcdefgh")
    if column in ("previous", "digest"):
        return changed_text(draw, getattr(entry, column))
    if column == "intent":
        return table.uuid(str(uuid.UUID(int=draw.getrandbits(128))))
    if column == "recorded_at":
        at = datetime.fromisoformat(entry.recorded_at) + draw.choice((-1, 1)) * timedelta(
            microseconds=draw.choice((1, 10**6, 86400 * 10**6)) * draw.randint(1, 500)
        )
        return f"{at:%Y-%m-%d %H:%M:%S.%f}" if table.sqlite else at
    if column == "body":
        return changed_bytes(draw, entry.body)
    if column == "organisation_id":
        mine = table.ask(f"SELECT organisation_id FROM {TABLE} WHERE chain = %s AND number = %s", *table.where(entry))
        return draw.choice([pk for pk in table.organisations if pk != mine[0][0]])
    if column == "number":
        return len(entries) + draw.randint(1, 1000)
    free = [chain for chain, others in table.chains.items() if len(others) < entry.number]
    return table.uuid(draw.choice([*free, str(uuid.UUID(int=draw.getrandbits(128)))]))


def rewrite(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    """Another body with a digest that fits it: the next record shows it."""
    entry = draw.choice(entries[:-1])
    other = replace(entry, body=canonical({"rewritten": draw.randrange(10**9)}))
    table.set(entry, body=other.body, digest=other.worked_out())
    return "rewrite with its digest"


def delete(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    first = draw.randrange(len(entries) - 1)
    for entry in entries[first : draw.randint(first + 1, len(entries) - 1)]:
        table.delete(entry)
    return "delete"


def swap_numbers(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    one, other = draw.sample(entries, 2)
    aside = replace(one, number=10**6)
    table.set(one, number=aside.number)
    table.set(other, number=one.number)
    table.set(aside, number=other.number)
    return "swap places"


def swap_bodies(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    """Two records' bodies, of one chain or of two."""
    one = draw.choice(entries)
    others = [e for found in table.chains.values() for e in found if e.body != one.body]
    other = draw.choice(others)
    table.set(one, body=other.body)
    table.set(other, body=one.body)
    return "swap bodies"


def insert(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    """A forged record with a right digest in the middle; the later ones move up."""
    at = draw.randrange(len(entries) - 1)
    for entry in reversed(entries[at + 1 :]):
        table.set(entry, number=entry.number + 1)
    forged = forged_after(draw, entries[at])
    table.insert(replace(forged, digest=forged.worked_out()), table.organisations[0])
    return "insert"


def append_badly(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    """A forged record at the end by somebody who does not know how digests are made."""
    forged = forged_after(draw, entries[-1])
    table.insert(replace(forged, digest="".join(draw.choices(HEX, k=64))), table.organisations[0])
    return "append without a right digest"


def forged_after(draw: random.Random, entry: Entry) -> Entry:
    return replace(
        entry,
        number=entry.number + 1,
        intent=str(uuid.UUID(int=draw.getrandbits(128))),
        body=canonical({"forged": draw.randrange(10**9)}),
        previous=entry.digest,
    )


def cut_tail(draw: random.Random, table: Table, entries: list[Entry]) -> str:
    for entry in entries[draw.randint(1, len(entries) - 1) :]:
        table.delete(entry)
    return "cut tail"


# An exported file -----------------------------------------------------------------------------------------


def attack_export(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[Attack, bytes]:
    """Do one thing to an export. The attacker makes the file's own digest fit again; chance does not."""
    head = next(e.digest for e in reversed(entries_of(lines)) if e.chain == entries_of(lines)[0].chain)
    how: Callable[..., tuple[str, list[bytes]]] = draw.choice(
        (edit_field, edit_field, rewrite_line, delete_lines, swap_lines, insert_line, cut_lines, damage)
    )
    kind, made = how(draw, lines)
    return Attack(kind=kind, head=head), b"".join(made if kind in AS_IT_IS else ended(made))


AS_IT_IS = ("damage a byte",)


@cache
def entries_of(lines: tuple[bytes, ...]) -> list[Entry]:
    rows = [read_canonical(line[:-1]) for line in lines[1:-1]]
    return [Entry(**{**row, "body": row["body"].encode()}) for row in rows]


def ended(lines: list[bytes]) -> list[bytes]:
    whole = hashlib.sha256(b"".join(lines[:-1])).hexdigest()
    return [*lines[:-1], canonical({"end": FORMAT, "sha256": whole}) + b"\n"]


def edit_field(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    entries = entries_of(lines)
    at = draw.randrange(len(entries))
    field = draw.choice(Entry.__slots__)
    value: Any = getattr(entries[at], field)
    if field == "number":
        other = value + draw.choice((-1, 1)) * draw.randint(1, 50)
    elif field == "body":
        other = changed_text(draw, value.decode(), "abc ").encode()
    else:
        other = changed_text(draw, value)
    return f"edit {field}", [*lines[: at + 1], entry_line(replace(entries[at], **{field: other})), *lines[at + 2 :]]


def rewrite_line(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    entries = entries_of(lines)
    at = draw.choice([i for i, e in enumerate(entries[:-1]) if entries[i + 1].chain == e.chain])
    other = replace(entries[at], body=canonical({"rewritten": draw.randrange(10**9)}))
    line = entry_line(replace(other, digest=other.worked_out()))
    return "rewrite with its digest", [*lines[: at + 1], line, *lines[at + 2 :]]


def delete_lines(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    entries = entries_of(lines)
    at = draw.choice([i for i, e in enumerate(entries[:-1]) if entries[i + 1].chain == e.chain])
    return "delete", [*lines[: at + 1], *lines[at + 2 :]]


def swap_lines(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    one, other = draw.sample(range(1, len(lines) - 1), 2)
    made = list(lines)
    made[one], made[other] = lines[other], lines[one]
    return "swap", made


def insert_line(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    entries = entries_of(lines)
    at = draw.choice([i for i, e in enumerate(entries[:-1]) if entries[i + 1].chain == e.chain])
    forged = forged_after(draw, entries[at])
    line = entry_line(replace(forged, digest=forged.worked_out()))
    return "insert", [*lines[: at + 2], line, *lines[at + 2 :]]


def cut_lines(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    """The tail of the family's own chain."""
    entries = entries_of(lines)
    own = [i for i, e in enumerate(entries) if e.chain == entries[0].chain]
    keep = draw.randint(1, len(own) - 1)
    return "cut tail", [*lines[: keep + 1], *lines[len(own) + 1 :]]


def damage(draw: random.Random, lines: tuple[bytes, ...]) -> tuple[str, list[bytes]]:
    return "damage a byte", [changed_bytes(draw, b"".join(lines))]
