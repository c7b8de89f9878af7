"""Records as they stand in the table: read raw, so that a row nobody should have touched is still read and named.

In chain order and a page at a time: no lock is held between pages, and memory stays flat however long a chain is.
"""

from __future__ import annotations

import re
import uuid
from collections.abc import Callable, Iterable, Iterator
from typing import Any

from django.db.backends.base.base import BaseDatabaseWrapper

from competency.chain_reading import Chain, Entry
from training.records.guards import TABLE

PAGE = 500
_ORGANISATIONS = "people_organisation"
_HEX = re.compile(r"[0-9a-f]{32}", re.ASCII)
_SQLITE_INSTANT = re.compile(r"(\d{4}-\d{2}-\d{2}) (\d{2}:\d{2}:\d{2})(\.\d{6})?", re.ASCII)

# Each value with its storage class: SQLite keeps in a column what it is given, text that is no UTF-8 too.
_SQLITE_COLUMNS = ", ".join(
    f"typeof({c}), CAST({c} AS BLOB)"
    for c in ("r.chain", "r.number", "r.body", "r.kind", "r.intent", "r.recorded_at", "r.previous", "r.digest")
)
_FROM = f"FROM {TABLE} r LEFT JOIN {_ORGANISATIONS} o ON o.id = r.organisation_id"
_ORDER = f"ORDER BY r.chain, r.number, r.id LIMIT {PAGE}"
_SQLITE = f"SELECT r.id, CAST(o.public_id AS BLOB), {_SQLITE_COLUMNS} {_FROM}"
_POSTGRES = (
    f"SELECT r.id, r.chain, r.number, r.body, o.public_id, r.kind, r.intent, "
    "to_char(r.recorded_at AT TIME ZONE 'UTC', 'YYYY-MM-DD\"T\"HH24:MI:SS.US\"Z\" AD'), r.previous, r.digest "
    f"{_FROM}"
)


def stored(connection: BaseDatabaseWrapper, chain: uuid.UUID | None = None) -> Iterator[Entry]:
    """Every record, or those of one chain, by chain and number."""
    page = _postgres_page if connection.vendor == "postgresql" else _sqlite_page
    after: tuple[Any, ...] | None = None
    while True:
        entries, after = page(connection, chain, after)
        yield from entries
        if len(entries) < PAGE:
            return


def count(connection: BaseDatabaseWrapper) -> int:
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT COUNT(*) FROM {TABLE}")  # noqa: S608 - a name of ours
        return int(cursor.fetchone()[0])


def check_chains(
    entries: Iterable[Entry], see: Callable[[Entry], None] = lambda entry: None
) -> Iterator[tuple[Chain, str | None]]:
    """Read chains through: each with the name of its first record that does not fit and why, or None.

    see: is shown every record, those after a misfit too.
    """
    chain: Chain | None = None
    misfit: str | None = None
    for entry in entries:
        see(entry)
        if chain is None or chain.chain != entry.chain:
            if chain is not None:
                yield chain, misfit
            chain, misfit = Chain(chain=entry.chain, organisation=entry.organisation), None
        if misfit is None:
            found = chain.misfit(entry)
            misfit = f"{entry.name}: {found}" if found else None
    if chain is not None:
        yield chain, misfit


# PostgreSQL -----------------------------------------------------------------------------------------------


def _postgres_page(
    connection: BaseDatabaseWrapper, chain: uuid.UUID | None, after: tuple[Any, ...] | None
) -> tuple[list[Entry], tuple[Any, ...] | None]:
    terms, values = ["TRUE"], []
    if chain is not None:
        terms.append("r.chain = %s")
        values.append(chain)
    if after is not None:
        terms.append("(r.chain, r.number, r.id) > (%s, %s, %s)")
        values += after
    with connection.cursor() as cursor:
        cursor.execute(f"{_POSTGRES} WHERE {' AND '.join(terms)} {_ORDER}", values)
        rows = cursor.fetchall()
    entries = [
        Entry(
            organisation=str(organisation),
            chain=str(of),
            number=number,
            kind=kind,
            intent=str(intent),
            recorded_at=(at or "no time").removesuffix(" AD"),
            body=bytes(body),
            previous=previous,
            digest=digest,
        )
        for _, of, number, body, organisation, kind, intent, at, previous, digest in rows
    ]
    return entries, ((rows[-1][1], rows[-1][2], rows[-1][0]) if rows else after)


# SQLite ---------------------------------------------------------------------------------------------------


def _sqlite_page(
    connection: BaseDatabaseWrapper, chain: uuid.UUID | None, after: tuple[Any, ...] | None
) -> tuple[list[Entry], tuple[Any, ...] | None]:
    terms, values = ["1"], []
    if chain is not None:
        terms.append("r.chain = %s")
        values.append(chain.hex)
    if after is not None:
        of, number, pk = after
        terms.append(f"(r.chain, r.number, r.id) > ({_place(of[0])}, {_place(number[0])}, %s)")
        values += [of[1], _key(*number), pk]
    with connection.cursor() as cursor:
        cursor.execute(f"{_SQLITE} WHERE {' AND '.join(terms)} {_ORDER}", values)
        rows = cursor.fetchall()
    entries = [_sqlite_entry(row[1], list(zip(row[2::2], row[3::2], strict=True))) for row in rows]
    return entries, ((rows[-1][2:4], rows[-1][4:6], rows[-1][0]) if rows else after)


def _place(storage: str) -> str:
    return "CAST(%s AS TEXT)" if storage == "text" else "%s"


def _key(storage: str, value: bytes) -> Any:
    return {"integer": int, "real": float}.get(storage, bytes)(value)


def _sqlite_entry(organisation: bytes | None, values: list[tuple[str, bytes | None]]) -> Entry:
    chain, number, body, *texts = values
    kind, intent, recorded_at, previous, digest = (_text(*value) for value in texts)
    return Entry(
        organisation=_uuid(_text("text", organisation)),
        chain=_uuid(_text(*chain)),
        number=int(number[1] or 0) if number[0] == "integer" else 0,
        kind=kind,
        intent=_uuid(intent),
        recorded_at=_instant(recorded_at),
        body=body[1] or b"" if body[0] == "blob" else b"kept as text: " + (body[1] or b""),
        previous=previous,
        digest=digest,
    )


def _text(storage: str, value: bytes | None) -> str:
    """A text as it is kept; anything else becomes one that fits nothing."""
    if value is None:
        return "nothing"
    text = value.decode("utf-8", "backslashreplace")
    return text if storage == "text" else f"{storage} {text}"


def _uuid(text: str) -> str:
    return str(uuid.UUID(text)) if _HEX.fullmatch(text) else text


def _instant(text: str) -> str:
    found = _SQLITE_INSTANT.fullmatch(text)
    return f"{found[1]}T{found[2]}{found[3] or '.000000'}Z" if found else text
