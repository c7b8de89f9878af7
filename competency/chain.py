"""A chain of records: how a record is written as bytes, and how each carries the digest of the one before.

Standard library only, so that a file can be checked where nothing of ours is installed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

NOTHING_BEFORE = "0" * 64
_FORMAT = b"register-record-1"


class NotCanonicalError(TypeError):
    """A value that has no single way to be written: a float, an infinity, or a key that is no text."""


def canonical(value: Any) -> bytes:
    """Write a value in the one way there is: keys sorted, no spaces, UTF-8, numbers without an exponent.

    Takes None, booleans, whole numbers, finite Decimals, texts, sequences and mappings with text keys.
    Raises NotCanonicalError for anything else, floats included.
    """
    return _text(value).encode()


def _text(value: Any) -> str:
    if value is None or isinstance(value, bool | str):
        return json.dumps(value, ensure_ascii=False)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, Decimal):
        return number_text(value)
    if isinstance(value, Mapping):
        if not all(isinstance(key, str) for key in value):
            raise NotCanonicalError("a key is no text")
        pairs = (f"{json.dumps(key, ensure_ascii=False)}:{_text(value[key])}" for key in sorted(value))
        return "{" + ",".join(pairs) + "}"
    if isinstance(value, Sequence) and not isinstance(value, bytes):
        return "[" + ",".join(_text(item) for item in value) + "]"
    raise NotCanonicalError(f"{type(value).__name__} has no canonical form")


def number_text(value: Decimal) -> str:
    """A decimal number without exponent or trailing zeros; minus zero is zero."""
    if not value.is_finite():
        raise NotCanonicalError("infinity and no-number have no canonical form")
    if value == value.to_integral_value():
        return str(int(value))
    return f"{value.normalize():f}"


def digest_of(
    *, organisation: str, chain: str, number: int, kind: str, intent: str, recorded_at: str, body: bytes, previous: str
) -> str:
    """The digest of one record, over everything it says and the digest before it: SHA-256, hexadecimal.

    Each part goes in with its length, so no part can borrow from its neighbour.
    """
    parts = (organisation, chain, str(number), kind, intent, recorded_at, previous)
    whole = hashlib.sha256(_FORMAT)
    for part in (*(text.encode() for text in parts), body):
        whole.update(len(part).to_bytes(8, "big"))
        whole.update(part)
    return whole.hexdigest()
