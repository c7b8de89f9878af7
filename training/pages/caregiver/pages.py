"""A caregiver's own page as a value: the cells of one person sorted into what they read, in their words."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from django.utils.translation import gettext as _

from competency.programme import Evidence
from competency.standing import Standing
from training.pages.templatetags.register import standing_plain
from training.people.models import Caregiver
from training.standing.questions import Cell, FamilyOn, Said, not_counted, signatures_missing

SOON = 30  # days left, below which they are said
NEXT_AT_MOST = 3
_TO_SHOW = frozenset({"needs", "renewal", "certificate"})  # what is still to be shown
_WHY = frozenset(
    {"lapsed", "withdrawn", "signature", "authorisation", "hold", "recheck", "recheck_due", "prerequisite", "gate"}
)
_AGAIN = frozenset({"recheck", "recheck_due", "renewal"})  # no words for what was never shown whole
_LEARNING = frozenset({Standing.NOT_STARTED, Standing.IN_TRAINING})
_NEXT_FIRST = (Standing.HELD, Standing.LAPSED, Standing.IN_TRAINING, Standing.WITHDRAWN, Standing.NOT_STARTED)


@dataclass(frozen=True, slots=True, kw_only=True)
class Post:
    """One skill as its caregiver reads it. needs: what is still to be shown; why: what else it waits for; first: what
    has to be done, or shown again, before it; is_card: brought on paper, not shown.
    """

    cell: Cell
    needs: tuple[str, ...]
    why: tuple[str, ...]
    asks_own_yes: bool = False
    first: tuple[str, ...] = ()
    is_card: bool = False

    @property
    def shade(self) -> str:
        """The colour: a caregiver never sees the staff's brick or the cross."""
        standing = self.cell.standing
        return str(Standing.HELD if standing in (Standing.LAPSED, Standing.WITHDRAWN) else standing)

    @property
    def word(self) -> str:
        return str(standing_plain(str(self.cell.standing), self.cell.on_pause, self.cell.waiting_for))

    @property
    def counted_as(self) -> str:
        """The word after a number."""
        return _("to show again") if self.word == str(standing_plain("held")) else self.word

    @property
    def is_ready(self) -> bool:
        return self.cell.standing is Standing.SIGNED_OFF

    @property
    def is_later(self) -> bool:
        """Not begun on the patient yet because another skill comes first."""
        waits = bool(self.cell.gate) and not self.cell.may_practise
        return self.cell.standing in _LEARNING and waits and not self.cell.on_pause

    @property
    def ends_soon(self) -> bool:
        return self.cell.days_left is not None and self.cell.days_left < SOON


class OwnPage:
    """Everything on one caregiver's page. picture: their family on its own today."""

    def __init__(self, picture: FamilyOn, caregiver: Caregiver) -> None:
        self.picture = picture
        self.caregiver = caregiver

    @cached_property
    def asked(self) -> list[Cell]:
        return [c for c in self.picture.cells_of(self.caregiver) if c.asked and c.standing is not None]

    @cached_property
    def posts(self) -> list[Post]:
        """What is asked of them now, in the programme's order."""
        return [self._post(cell) for cell in self.asked if cell.is_required]

    def _post(self, cell: Cell) -> Post:
        missing = signatures_missing(self.picture, self.caregiver, cell.skill.code)
        is_new = cell.standing in _LEARNING
        said = _unmet(cell.plain, _WHY - _AGAIN if is_new else _WHY)
        if cell.on_pause:
            said = _unmet(cell.plain, frozenset({"hold"}))
        elif missing:
            said = _unmet(cell.plain, frozenset({"signature"}))[:1]
        return Post(
            cell=cell,
            needs=_unmet(cell.plain, _TO_SHOW - _AGAIN if is_new else _TO_SHOW),
            why=said,
            asks_own_yes="caregiver" in missing,
            first=tuple(self._first(cell)),
            is_card=self.picture.file.rules.skills[cell.skill.code].evidence is Evidence.CERTIFICATE,
        )

    def _first(self, cell: Cell) -> Iterator[str]:
        """Which skills it waits for: those still to be done, and those that were shown too long ago."""
        done = {c.skill.code for c in self.picture.cells_of(self.caregiver) if c.standing is Standing.SIGNED_OFF}
        names = self.picture.words.skill
        if undone := [names(code).plain for code in cell.gate if code not in done]:
            yield _("Opens when this is done: %(first)s.") % {"first": _and(undone)}
        if too_long_ago := [names(code).plain for code in cell.gate if code in done]:
            yield _("Opens when this is shown again: %(first)s.") % {"first": _and(too_long_ago)}

    def _where(self, wanted: Callable[[Post], bool]) -> list[Post]:
        return [post for post in self.posts if wanted(post)]

    @cached_property
    def ready(self) -> list[Post]:
        """What they may do alone, the first to run out first."""
        found = self._where(lambda p: p.is_ready)
        return sorted(found, key=lambda p: (p.cell.last_day is None, p.cell.last_day or p.cell.since))

    @cached_property
    def later(self) -> list[Post]:
        return self._where(lambda p: p.is_later)

    @cached_property
    def not_alone(self) -> list[Post]:
        """What is not theirs to do alone yet; what waits for their own yes first."""
        found = self._where(lambda p: not p.is_ready and not p.is_later)
        return sorted(found, key=lambda p: not p.asks_own_yes)

    @cached_property
    def next(self) -> list[Post]:
        """The few that come next: practised with a nurse beside them, or brought as a card."""
        found = [p for p in self.not_alone if p.needs and (p.cell.may_practise or p.is_card)]
        return sorted(found, key=lambda p: _NEXT_FIRST.index(p.cell.standing))[:NEXT_AT_MOST]

    @cached_property
    def not_asked(self) -> list[Post]:
        """Of their sets, what the care plan does not call for."""
        return [
            Post(cell=cell, needs=(), why=tuple(r.text for r in cell.plain))
            for cell in self.asked
            if not cell.is_required
        ]

    @cached_property
    def outside(self) -> list[Cell]:
        """What the care plan calls for and none of their agreed sets holds: others in the family learn it."""
        return [c for c in self.picture.cells_of(self.caregiver) if not c.asked and c.is_required]

    @cached_property
    def sets(self) -> str:
        """What they agreed to learn, in words."""
        return ", ".join(self.picture.words.set(code) for code in self.caregiver.sets)

    @cached_property
    def not_counted(self) -> list[tuple[Post, tuple[Said, ...]]]:
        """Each skill with the attempts that did not count, and why."""
        found = ((p, not_counted(self.picture, self.caregiver, p.cell.skill.code)) for p in self.posts)
        return [(post, said) for post, said in found if said]

    @cached_property
    def others(self) -> str:
        """How many of what is not ready stands where, in a sentence; empty where all is ready."""
        counts = Counter(post.counted_as for post in self.posts if not post.is_ready)
        parts = [_("%(n)s %(word)s") % {"n": n, "word": word} for word, n in counts.items()]
        return f"{', '.join(parts)}." if parts else ""


def _unmet(said: Iterable[Said], codes: frozenset[str]) -> tuple[str, ...]:
    """The texts of these reasons that are not met, or are still to come, each once."""
    return tuple(dict.fromkeys(r.text for r in said if r.code in codes and r.met is not True))


def _and(names: list[str]) -> str:
    """Names as a list in a sentence."""
    if len(names) < 2:
        return "".join(names)
    return _("%(first)s and %(last)s") % {"first": ", ".join(names[:-1]), "last": names[-1]}
