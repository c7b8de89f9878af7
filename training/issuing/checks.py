"""Said by `manage.py check --deploy`: documents need to know where they are checked."""

from __future__ import annotations

from typing import Any

from django.conf import settings
from django.core.checks import Warning as Said


def address_is_known(**kwargs: Any) -> list[Said]:
    if settings.PUBLIC_URL:
        return []
    return [
        Said(
            "PUBLIC_URL is not set: the code on a document leads to whatever address its printer used.",
            hint="Set PUBLIC_URL to the address people type, such as https://register.example.org.",
            id="issuing.W001",
        )
    ]
