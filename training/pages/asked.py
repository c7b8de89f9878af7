"""What was asked for in words, such as a name, stays in the session; the address carries a token for it.

So no name stands in an address, a history or a proxy's log, and going back shows what was asked before.
"""

from __future__ import annotations

import secrets
from typing import Any

from django.http import HttpRequest

TOKEN = "asked"  # noqa: S105 - the address's word for it
KEPT = 20  # of each room; going back further shows the page without


def keep_asked(request: HttpRequest, room: str, words: dict[str, Any]) -> str:
    """Keep the words in the session, and give the token for them; "" where nothing was asked."""
    if not any(words.values()):
        return ""
    kept: dict[str, Any] = request.session.get(f"asked-{room}", {})
    token = next((t for t, w in kept.items() if w == words), None) or secrets.token_urlsafe(6)
    others = [(t, w) for t, w in kept.items() if t != token]
    request.session[f"asked-{room}"] = dict([*others, (token, words)][-KEPT:])
    return token


def was_asked(request: HttpRequest, room: str) -> dict[str, Any]:
    """What was asked under the token of the address; nothing where there is none, or none of this session."""
    found: dict[str, Any] = request.session.get(f"asked-{room}", {}).get(request.GET.get(TOKEN, ""), {})
    return found
