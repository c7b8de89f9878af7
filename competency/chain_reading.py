"""Reading a chain back: does each record fit the one before it, and is it what was written?

Standard library only, like `competency.chain`. Both the checker of exported files and that of a whole database use it.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any, NoReturn

from competency.chain import NOTHING_BEFORE, NotCanonicalError, canonical, digest_of

_INSTANT = re.compile(r"\d{4}-\d{2}-\d{2}T\d{2}:\d{2}:\d{2}\.\d{6}Z", re.ASCII)
_LONGEST_NUMBER = 1000  # digits; nothing that is recorded comes near


class NotAsWrittenError(ValueError):
    """Bytes that are no JSON, or not the one way to write it."""


# One record after another ---------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One record as it is kept. body: its exact bytes. recorded_at: as it went into the digest."""

    organisation: str
    chain: str
    number: int
    kind: str
    intent: str
    recorded_at: str
    body: bytes
    previous: str
    digest: str

    @property
    def name(self) -> str:
        return f"record {self.number} ({shown(self.kind)}, recorded {shown(self.recorded_at)})"

    def worked_out(self) -> str:
        """The digest that what it says comes to."""
        return digest_of(
            organisation=self.organisation,
            chain=self.chain,
            number=self.number,
            kind=self.kind,
            intent=self.intent,
            recorded_at=self.recorded_at,
            body=self.body,
            previous=self.previous,
        )


@dataclass(slots=True, kw_only=True)
class Chain:
    """One chain as far as it has been read; its records are given to `misfit` in the order they are kept in."""

    chain: str
    what: str = ""
    organisation: str | None = None
    count: int = 0
    head: str = NOTHING_BEFORE
    first_at: str = ""
    last_at: str = ""

    def misfit(self, entry: Entry) -> str | None:
        """What does not fit about the next record; None where it fits, and it is then the chain's last."""
        found = self._place(entry) or _contents(entry)
        if found is None:
            self.count, self.head = entry.number, entry.digest
            self.first_at, self.last_at = self.first_at or entry.recorded_at, entry.recorded_at
        return found

    def _place(self, entry: Entry) -> str | None:
        if entry.chain != self.chain:
            return f"it says it belongs to the chain {shown(entry.chain)}"
        if self.organisation is not None and entry.organisation != self.organisation:
            return f"it says it belongs to the organisation {shown(entry.organisation)}"
        due = self.count + 1
        if entry.number > due:
            gone = f"number {due} is" if entry.number == due + 1 else f"numbers {due} to {entry.number - 1} are"
            return f"{gone} missing before it, or its number was changed"
        if entry.number < due:
            return f"number {due} should stand here; this number was there before, or the order was changed"
        if entry.previous != self.head:
            return "it does not carry the digest of the record before it"
        return None


def _contents(entry: Entry) -> str | None:
    if entry.digest != entry.worked_out():
        return "its digest is not that of what it says: it was changed after it was recorded"
    if not _is_instant(entry.recorded_at):
        return "its recorded_at is no instant"
    try:
        value = read_canonical(entry.body)
    except NotAsWrittenError as error:
        return f"the bytes of its body are not canonical: {error}"
    return None if isinstance(value, dict) else "its body is no object"


def _is_instant(text: str) -> bool:
    try:
        return bool(_INSTANT.fullmatch(text)) and datetime.fromisoformat(text) is not None
    except ValueError:
        return False


# JSON that may be hostile ---------------------------------------------------------------------------------


def read_canonical(data: bytes) -> Any:
    """JSON written in the one way there is, as values. Raises NotAsWrittenError for every other sequence of bytes."""
    if data.startswith(b"\xef\xbb\xbf"):
        raise NotAsWrittenError("a byte order mark stands before it; another program has saved it")
    try:
        value = json.loads(
            data.decode(),
            object_pairs_hook=_once_each,
            parse_constant=_no_constant,
            parse_float=_decimal,
            parse_int=_whole,
        )
        written = canonical(value)
    except UnicodeDecodeError:
        raise NotAsWrittenError("not UTF-8") from None
    except RecursionError:
        raise NotAsWrittenError("nested too deeply") from None
    except NotAsWrittenError:
        raise
    except UnicodeEncodeError:
        raise NotAsWrittenError("half a pair of characters") from None
    except (ValueError, ArithmeticError, NotCanonicalError) as error:
        raise NotAsWrittenError(f"no JSON: {error}") from None
    if written != data:
        raise NotAsWrittenError("spaces, the order of keys, or a text or number are written another way")
    return value


def _once_each(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) != len(pairs):
        raise NotAsWrittenError("a key is given twice in one object")
    return made


def _no_constant(name: str) -> NoReturn:
    raise NotAsWrittenError(f"{name} is no number")


def _decimal(text: str) -> Decimal:
    if "e" in text.lower():
        raise NotAsWrittenError("a number is written with an exponent")
    _not_huge(text)
    return Decimal(text)


def _whole(text: str) -> int:
    _not_huge(text)
    return int(text)


def _not_huge(text: str) -> None:
    if len(text) > _LONGEST_NUMBER:
        raise NotAsWrittenError(f"a number has more than {_LONGEST_NUMBER} digits")


def shown(text: str) -> str:
    """A text from the file, fit for a terminal: no control characters, not too long."""
    plain = json.dumps(text)[1:-1]
    return plain if len(plain) <= 80 else plain[:77] + "..."
