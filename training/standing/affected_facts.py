"""Before facts, notice and checks are published: what is said otherwise, and beside which orders something else stands.

No standing moves by it. Nothing is written.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from training.curriculum.checks import CheckShown, shown
from training.curriculum.stating_words import changes
from training.people.models import Family, Member
from training.standing.file import open_file, words_in
from training.standing.proposing import Proposal, families_following


@dataclass(frozen=True, slots=True, kw_only=True)
class CheckMoved:
    """A check of one family as it is and as it would be; None where there is none."""

    title: str
    old: CheckShown | None
    new: CheckShown | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FactsAffected:
    """changes: in sentences. families: those beside whose orders another check would stand, of those one may see.

    retired: titles of facts, each with how many care plans in force state it.
    """

    changes: tuple[str, ...]
    families: tuple[tuple[Family, tuple[CheckMoved, ...]], ...]
    retired: tuple[tuple[str, int], ...]

    def said(self) -> dict[str, Any]:
        """All of it as plain values, for the digest of what stood on the screen."""
        moved = [[str(family.public_id), [[m.title, str(m.old), str(m.new)] for m in checks]]
                 for family, checks in self.families]  # fmt: skip
        return {"changes": list(self.changes), "families": moved, "retired": [list(r) for r in self.retired]}


def facts_affected(proposal: Proposal, member: Member) -> FactsAffected | None:
    """None where no facts, notice or checks are published."""
    if proposal.drafted_facts is None:
        return None
    programme = proposal.published
    old, new = words_in(programme.pk, programme.version), proposal.words
    settings = programme.about.get("checks"), proposal.about.get("checks")
    seen = families_following(programme).filter(pk__in=Family.objects.visible_to(member)).order_by("name")
    plans = [(family, _stated(family, proposal)) for family in seen]
    families = []
    for family, stated in plans:
        before = {c.title: c for c in shown(settings[0], old, stated)} if stated else {}
        after = {c.title: c for c in shown(settings[1], new, stated)} if stated else {}
        moved = [
            CheckMoved(title=title, old=before.get(title), new=after.get(title))
            for title in dict.fromkeys([*before, *after])
            if before.get(title) != after.get(title)
        ]
        if moved:
            families.append((family, tuple(moved)))
    gone = [code for code, fact in new.facts.items() if fact.get("retired") and code in old.offered]
    return FactsAffected(
        changes=tuple(changes(old, new, *settings)),
        families=tuple(families),
        retired=tuple((new.fact(code), sum(code in stated for _family, stated in plans)) for code in gone),
    )


def _stated(family: Family, proposal: Proposal) -> dict[str, Any]:
    """What the care plan in force today states."""
    file = open_file(family)
    today = family.today(proposal.at)
    in_force = [entry for entry in file.history().known.care_plan if entry.on <= today]
    record = file.record(in_force[-1].id) if in_force else None
    return dict(record.data["facts"]) if record else {}
