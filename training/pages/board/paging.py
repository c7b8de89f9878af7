"""Long lists of families, a page at a time."""

from __future__ import annotations

from django.http import HttpRequest


def page_asked(request: HttpRequest, number: int, on_each: int) -> tuple[int, int]:
    """The page the address asks for, counted from 1, and how many there are for this number of families."""
    pages = max(-(-number // on_each), 1)
    asked = request.GET.get("page", "")
    page = max(int(asked), 1) if asked.isdecimal() and len(asked) < 7 else 1
    return min(page, pages), pages
