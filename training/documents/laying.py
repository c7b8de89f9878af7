"""What every document about a family has in common: letters made drawable, one opening, one foot, one way to bytes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields, is_dataclass, replace
from datetime import date, datetime
from typing import Any, Protocol, TypeVar

from reportlab.platypus import Flowable

from training.documents.packet_values import day, grouped, instant
from training.documents.pdf.flowables import CELL, HEADING, SMALL, TITLE, Heading, Style, Text
from training.documents.pdf.opening import Dateline
from training.documents.pdf.seal import Seal
from training.documents.pdf.sheet import Furniture, build, keep_with_next, text_width
from training.documents.pdf.text import clean, name, spell_out, undrawable

BRIEF = 60  # letters of a name in the head of a table
DECIDES = "The clinical team decides discharge."
PICTURES = {
    "ready": "Mark of the verdict: two whole posts",
    "ready_by_exception": "Mark of the verdict: two posts, one of them propped up",
    "not_ready": "Mark of the verdict: one whole post and one only dotted",
}

Section = tuple[str, list[Flowable]]


class Document(Protocol):
    """known_at: when the newest record that bears on it was made; aware, in the zone that ``zone`` names.

    chain_head: hex digits of the newest record's digest; empty for one that gives none.
    """

    @property
    def title(self) -> str: ...
    @property
    def organisation(self) -> str: ...
    @property
    def patient(self) -> str: ...
    @property
    def as_of(self) -> date: ...
    @property
    def known_at(self) -> datetime: ...
    @property
    def zone(self) -> str: ...
    @property
    def language(self) -> str: ...
    @property
    def chain_head(self) -> str: ...


D = TypeVar("D", bound=Document)


def lay_out(
    document: D,
    story: Callable[[D, tuple[str, ...], float], list[Flowable]],
    pagesize: tuple[float, float],
    seal: Seal | None = None,
    *,
    ends_sealed: bool = True,
) -> bytes:
    """Return a document as a tagged PDF (PDF/UA-1): the same value gives the same bytes.

    story: makes what is printed of the document, of the letters that could not be drawn, and of the width in points.
    Those letters are printed by their number, such as ``[U+674E]``. ends_sealed: whether the seal is the last part.
    """
    undrawn: dict[str, None] = {}
    made: D = readable(document, undrawn)
    as_of = day(made.as_of)
    known = recorded_through(made.known_at, made.zone)
    check = f" Check code {grouped(made.chain_head[:16])}" if made.chain_head else ""
    return build(
        story(made, tuple(undrawn), text_width(pagesize)),
        title=flat(f"{made.title}: {made.patient}, as of {as_of}"),
        author=flat(made.organisation),
        subject=f"As of {as_of}, {known}",
        language=made.language,
        made_at=made.known_at,
        pagesize=pagesize,
        seal=seal,
        ends_sealed=ends_sealed,
        furniture=Furniture(
            head=made.organisation,
            head_right=f"as of {as_of}, {known}",
            foot=f"{brief(made.organisation)}. {brief(made.patient)}",
            foot_second=f"{made.title} as of {as_of}.{check}",
        ),
    )


def readable(value: Any, undrawn: dict[str, None]) -> Any:
    """Return the value with every text made drawable; what had to be spelled out is noted in ``undrawn``."""
    if isinstance(value, str):
        missing = undrawable(value)
        undrawn.update(dict.fromkeys(missing))
        return spell_out(value) if missing else value
    if isinstance(value, tuple):
        return tuple(readable(part, undrawn) for part in value)
    if is_dataclass(value) and not isinstance(value, type):
        return replace(value, **{f.name: readable(getattr(value, f.name), undrawn) for f in fields(value)})
    return value


def recorded_through(known_at: datetime, zone: str) -> str:
    """What a document rests on: true of a reprint too, since nothing that bears on it has come since."""
    return f"from records through {instant(known_at, zone)}"


def flat(text: str) -> str:
    """One line without control characters, for the file's properties."""
    return " ".join(clean(text).split())


def said(text: str, otherwise: str = "not stated") -> str:
    return text if clean(text).strip() else otherwise


def brief(text: str) -> str:
    """For the head of a table, which is repeated; the whole name stands in the heading."""
    return said(text) if len(text) <= BRIEF else text[:BRIEF].rstrip() + "…"


def last(value: date | None) -> str:
    return day(value) if value else "no last day"


def none(text: str = "None.") -> Text:
    return Text(text)


def stack(lines: Sequence[str], otherwise: str) -> list[Text]:
    return [Text(line, style=CELL) for line in lines] or [Text(otherwise, style=CELL)]


def opened(document: Document, undrawn: tuple[str, ...]) -> list[Flowable]:
    """How each of them begins: whose it is, what it is, and its day."""
    beginning: list[Flowable] = [
        Text(said(document.organisation)),
        Heading(1, document.title, style=TITLE, ruled=False),
        Dateline(f"As of {day(document.as_of)}", recorded_through(document.known_at, document.zone)),
    ]
    if undrawn:
        beginning.append(Text("Some letters could not be drawn and stand as numbers: see the end.", style=SMALL))
    return beginning


def sections(found: Sequence[Section], width: float, *, style: Style = HEADING) -> list[Flowable]:
    """Each with its heading, which never ends a page."""
    story: list[Flowable] = []
    for title, body in found:
        story += keep_with_next(Heading(2, title, style=style), body, width)
    return story


def letters(undrawn: tuple[str, ...]) -> list[Section]:
    """What could not be drawn, letter by letter; nothing where all could."""
    if not undrawn:
        return []
    told = Text("These letters could not be drawn; above, their numbers stand in square brackets.")
    return [("Letters that could not be drawn", [told, *(Text(name(char)) for char in undrawn)])]
