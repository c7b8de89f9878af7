"""A family's site: the organisation's own word for the ward, branch or town that looks after it.

There is no list of sites: those in use are those that families have.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from competency.fields import Problem
from training.people.models import Family, Organisation
from training.standing.folding import folded
from training.standing.models import BoardQuerySet
from training.standing.sanity import Asked

LONGEST: int = Family._meta.get_field("site").max_length
Sites = Mapping[str, list[str]]


def tidy(text: str) -> str:
    """One spelling of what looks the same: composed letters, single spaces."""
    return " ".join(unicodedata.normalize("NFC", text).split())


def same(site: str) -> str:
    """What two spellings of one site share. Accents stay: two towns may differ by one alone."""
    return unicodedata.normalize("NFC", tidy(site).casefold())


def grouped(spellings: Iterable[str]) -> Sites:
    """Each site once, as one of its spellings, in order; with it all its spellings."""
    found: dict[str, list[str]] = {}
    for one in sorted(set(spellings)):
        found.setdefault(same(one), []).append(one)
    return {own[0]: own for own in sorted(found.values(), key=lambda own: _place(own[0]))}


def _place(site: str) -> tuple[str, str]:
    """Ward 2 before Ward 10."""
    return re.sub(r"\d+", lambda number: number[0].zfill(9), folded(site)), site


def on_board(rows: BoardQuerySet) -> Sites:
    """The sites of these rows of BoardFamily."""
    return grouped(rows.exclude(site="").order_by().values_list("site", flat=True).distinct())


def in_use(organisation: Organisation) -> list[str]:
    """Those of the whole organisation, so that whoever writes one spells it as others do. They name no family."""
    families = organisation.families.exclude(site="").order_by()
    return list(grouped(families.values_list("site", flat=True).distinct()))


def judge(asked: Asked) -> Iterator[Problem]:
    """What is wrong with the site that a file's first page names, where it names one."""
    site: Any = asked.body.get("site", "")
    if not isinstance(site, str) or site != tidy(site):
        yield Problem("site", "is no text with single spaces")
    elif len(site) > LONGEST:
        yield Problem("site", f"has more than {LONGEST} letters")
