"""A document's number: the same for the same document, and not to be guessed."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from django.utils.crypto import salted_hmac

from training.invitations.codes import GROUP, LENGTH, LETTERS, as_typed


def number_of(inputs: Mapping[str, Any]) -> str:
    """The number of what is made from these inputs, such as ``7K3M-PQ9X-2DFA``: 59 bits under the site's key."""
    told = json.dumps(inputs, default=str, sort_keys=True).encode("utf-8", "surrogatepass")
    rest = int.from_bytes(salted_hmac("training.issuing.number", told, algorithm="sha256").digest())
    letters = ""
    for _place in range(LENGTH):
        rest, letter = divmod(rest, len(LETTERS))
        letters += LETTERS[letter]
    return grouped(letters)


def grouped(letters: str) -> str:
    return "-".join(letters[at : at + GROUP] for at in range(0, len(letters), GROUP))


def number_typed(text: str) -> str:
    """A number as people type it, as it is kept; "" for what can be none."""
    letters = as_typed(text)
    return grouped(letters) if len(letters) == LENGTH and set(letters) <= set(LETTERS) else ""
