"""Names as they are compared: without case and accents. Stored so, they are found on any database."""

from __future__ import annotations

import unicodedata

_SINGLE = str.maketrans(
    {"đ": "d", "ø": "o", "ł": "l", "ı": "i", "æ": "ae", "œ": "oe"}
)  # letters that do not fall apart


def folded(text: str) -> str:
    parts = unicodedata.normalize("NFKD", text.replace("’", "'").casefold())
    return "".join(c for c in parts if not unicodedata.combining(c)).casefold().translate(_SINGLE)
