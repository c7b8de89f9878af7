"""Stored spans told as lines: so many questions, however many there are."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

from training.curriculum.words import Words
from training.pages.board.lapses import FamilyNamed, lapses_on, next_days
from training.pages.board.lines import Line
from training.people.models import Member
from training.standing.models import BoardSpan, Trouble


def lines_of(member: Member, spans: Sequence[tuple[BoardSpan, date]], words: Mapping[int, Words]) -> list[Line]:
    """Each span on the day given for it, with its family's name on the board. words: of each programme, by its key."""
    watched = [(span.family_id, day) for span, day in spans if span.rank < Trouble.HANDED_OVER]
    first = next_days(member, watched)
    falling = {(s.family_id, s.falls_on) for s, _day in spans if s.falls_on and s.rank <= Trouble.FALLING}
    families = {span.family_id: _named(span) for span, _day in spans}
    lapses = lapses_on(member, {*first, *falling}, families, words)
    following = {family: lapses[family, day] for family, day in first}
    on_fall = {family: lapses[family, day] for family, day in falling}
    return [
        Line(
            span,
            day,
            words[families[span.family_id].programme],
            following.get(span.family_id, ()),
            on_fall.get(span.family_id, ()),
        )
        for span, day in spans
    ]


def _named(span: BoardSpan) -> FamilyNamed:
    return FamilyNamed(span.family.public_id, span.family.name, span.family.on_board.programme_id)
