"""What a map shows: a programme's own, and one caregiver's. Each as nodes to draw and as entries to read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from competency.programme import Edition, Prerequisite, Programme
from competency.standing import Standing
from training.curriculum.sentences import written_period
from training.curriculum.words import Words
from training.pages.map.drawing import Node
from training.pages.templatetags.register import STANDING_WORDS, standing_plain, standing_word
from training.people.models import Caregiver
from training.standing.questions import Cell, FamilyOn


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One skill of the list. first: what comes before it, with its conditions; opens: what waits for it."""

    node: Node
    first: tuple[str, ...]
    opens: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Map:
    nodes: tuple[Node, ...]
    entries: tuple[Entry, ...]


# A programme ----------------------------------------------------------------------------------------------


def programme_map(rules: Programme, words: Words, day: date) -> Map:
    """Every skill with the gates of the edition in force on the day, or of its first one."""
    editions = {code: skill.in_force(day) or skill.editions[0] for code, skill in rules.skills.items()}
    nodes = [
        Node(
            code=code,
            title=words.skill(code).title,
            gates=tuple(p.skill for p in edition.requires),
            word=_("from %(day)s") % {"day": edition.in_force_from} if edition.in_force_from > day else "",
        )
        for code, edition in editions.items()
    ]
    return _map(nodes, {code: _first(edition, words) for code, edition in editions.items()})


def _first(edition: Edition, words: Words) -> tuple[str, ...]:
    return tuple(_condition(p, words.skill(p.skill).title) for p in edition.requires)


def _condition(prerequisite: Prerequisite, title: str) -> str:
    said = {"skill": title}
    if prerequisite.within is not None:
        said["period"] = written_period(prerequisite.within)
        if prerequisite.only_to_learn:
            return _("%(skill)s, shown within the last %(period)s, only while learning") % said
        return _("%(skill)s, shown within the last %(period)s") % said
    return _("%(skill)s, only while learning") % said if prerequisite.only_to_learn else title


def _map(nodes: list[Node], first: dict[str, tuple[str, ...]]) -> Map:
    titles = {node.code: node.title for node in nodes}
    opens: dict[str, list[str]] = {node.code: [] for node in nodes}
    for node in nodes:
        for gate in node.gates:
            if gate in opens:
                opens[gate].append(titles[node.code])
    entries = tuple(Entry(node=n, first=first[n.code], opens=tuple(opens[n.code])) for n in nodes)
    return Map(nodes=tuple(nodes), entries=entries)


# One caregiver --------------------------------------------------------------------------------------------


def caregiver_map(family: FamilyOn, caregiver: Caregiver, *, plainly: bool) -> Map:
    """The skills that the care plan calls for and that are asked of this caregiver, as they stand on the day.

    plainly: in the words a caregiver reads.
    """
    cells = {c.skill.code: c for c in family.cells_of(caregiver) if c.asked and c.is_required}
    nodes = [_node(family, cell, cells, plainly) for cell in cells.values()]
    titles = {node.code: node.title for node in nodes}
    return _map(nodes, {n.code: tuple(titles[g] for g in n.gates) for n in nodes})


def _node(family: FamilyOn, cell: Cell, shown: dict[str, Cell], plainly: bool) -> Node:
    edition = family.history.known.programme.skills[cell.skill.code].in_force(family.day)
    gates = tuple(p.skill for p in edition.requires if p.skill in shown) if edition else ()
    closed = tuple(gate for gate in cell.gate if gate in shown) if cell.standing is not Standing.SIGNED_OFF else ()
    standing = str(cell.standing)
    words = STANDING_WORDS[standing]
    if plainly:
        word = str(standing_plain(standing, cell.on_pause, cell.waiting_for))
        mark = words.caregiver_mark
    else:
        word = str(standing_word(standing, cell.on_pause))
        mark = words.staff_mark
    return Node(
        code=cell.skill.code,
        title=cell.skill.plain if plainly else cell.skill.title,
        gates=gates,
        standing=_shade(standing) if plainly else standing,
        mark="on_pause" if cell.on_pause else mark,
        word=word,
        waits=closed,
        waiting=_waiting(closed, shown.values(), plainly),
    )


def _shade(standing: str) -> str:
    """A caregiver never sees the staff's brick or the cross."""
    return "held" if standing in ("lapsed", "withdrawn") else standing


def _waiting(closed: tuple[str, ...], shown: Iterable[Cell], plainly: bool) -> str:
    if not closed:
        return ""
    titles = [c.skill.plain if plainly else c.skill.title for c in shown if c.skill.code in closed]
    said = {"skills": ", ".join(titles)}
    return _("first: %(skills)s") % said if plainly else _("closed: waits for %(skills)s") % said
