"""Codes that people copy from paper: letters and digits that are not mistaken for each other, in groups of four."""

from __future__ import annotations

import secrets
import unicodedata

from django.utils.crypto import salted_hmac

LETTERS = "23456789ABCDEFGHJKMNPQRSTVWXYZ"  # no 0 1 I L O U: twelve of them are 30^12, about 59 bits
LENGTH, GROUP = 12, 4


def new_code() -> str:
    code = "".join(secrets.choice(LETTERS) for _ in range(LENGTH))
    return "-".join(code[at : at + GROUP] for at in range(0, LENGTH, GROUP))


def as_typed(text: str) -> str:
    """The letters and digits of what was typed, without the signs and spaces people put between them."""
    wide = unicodedata.normalize("NFKC", text).upper()
    return "".join(letter for letter in wide if letter.isalnum())


def digest_of(code: str) -> str:
    """How a code is kept and found again."""
    return keyed("code", as_typed(code))


def keyed(what: str, text: str) -> str:
    return salted_hmac(f"training.invitations.{what}", text, algorithm="sha256").hexdigest()
