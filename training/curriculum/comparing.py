"""Two editions of a skill side by side, in words: steps added, removed, changed and moved; standard; conditions."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from training.curriculum.sentences import KINDS, conditions, edition_words, either, measure_words, standard_words
from training.curriculum.words import Words


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One thing on both sides. what: "same", "added", "removed", "changed" or "moved"; details: what differs."""

    what: str
    old: str
    new: str
    old_number: int | None = None
    new_number: int | None = None
    details: tuple[tuple[str, str, str], ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    steps: tuple[Line, ...]
    standard: tuple[Line, ...]
    rules: tuple[Line, ...]

    @property
    def count(self) -> int:
        return sum(line.what != "same" for part in (self.steps, self.standard, self.rules) for line in part)


def compare(old: Mapping[str, Any], new: Mapping[str, Any], words: Words) -> Comparison:
    """old, new: bodies of two editions of one skill. Steps are the same by their codes, whatever their words."""
    return Comparison(
        steps=tuple(_steps(old.get("steps", ()), new.get("steps", ()), words)),
        standard=tuple(_sentences(standard_words(old), standard_words(new))),
        rules=tuple(_sentences(edition_words(old, words), edition_words(new, words))),
    )


def _steps(old: Sequence[Mapping[str, Any]], new: Sequence[Mapping[str, Any]], words: Words) -> Iterator[Line]:
    """In the new order; what was removed stands where it was."""
    before = {step["code"]: (n, step) for n, step in enumerate(old, start=1)}
    codes = [step["code"] for step in new]
    moved = _moved([step["code"] for step in old if step["code"] in codes], [c for c in codes if c in before])
    removed = [(n, step) for n, step in before.values() if step["code"] not in codes]
    for number, step in enumerate(new, start=1):
        there = before.get(step["code"])
        limit = there[0] if there else 0
        while removed and removed[0][0] < limit:
            yield _gone(*removed.pop(0))
        if there is None:
            yield Line(what="added", old="", new=step["text"], new_number=number, details=tuple(_says({}, step, words)))
            continue
        details = tuple(_says(there[1], step, words))
        is_changed = bool(details) or there[1]["text"] != step["text"]
        what = "changed" if is_changed else "moved" if step["code"] in moved else "same"
        if is_changed and step["code"] in moved:
            details = (*details, (_("Place"), str(there[0]), str(number)))
        yield Line(
            what=what, old=there[1]["text"], new=step["text"], old_number=there[0], new_number=number, details=details
        )
    for number, step in removed:
        yield _gone(number, step)


def _gone(number: int, step: Mapping[str, Any]) -> Line:
    return Line(what="removed", old=step["text"], new="", old_number=number)


def _moved(old: Sequence[str], new: Sequence[str]) -> frozenset[str]:
    """The steps that left their order among those that stayed."""
    stays: set[str] = set()
    for block in SequenceMatcher(a=old, b=new, autojunk=False).get_matching_blocks():
        stays.update(old[block.a : block.a + block.size])
    return frozenset(old) - stays


def _says(old: Mapping[str, Any], new: Mapping[str, Any], words: Words) -> Iterator[tuple[str, str, str]]:
    """What else two steps say differently: (what, before, after)."""
    for title, says in _PARTS.items():
        before, after = says(old, words), says(new, words)
        if before != after:
            yield str(title), before if old else "", after


def _text(key: str) -> Callable[[Mapping[str, Any], Words], str]:
    return lambda step, words: str(step.get(key, ""))


_PARTS: Mapping[Any, Callable[[Mapping[str, Any], Words], str]] = {
    gettext_lazy("Critical"): lambda step, words: _("yes") if step.get("critical") else _("no"),
    gettext_lazy("May be skipped"): lambda step, words: _("yes") if step.get("may_skip") else _("no"),
    gettext_lazy("Measured"): lambda step, words: measure_words(step.get("measure"), words),
    gettext_lazy("Role"): lambda step, words: either(
        KINDS["role"][r] for r in KINDS["role"] if r in step.get("roles", ())
    ),
    gettext_lazy("Condition"): lambda step, words: conditions(step.get("applies_when"), words),
    gettext_lazy("Caregiver wording"): _text("plain"),
    gettext_lazy("Why it matters"): _text("why"),
    gettext_lazy("Common mistakes"): _text("watch"),
    gettext_lazy("Source"): _text("source"),
}


def _sentences(old: Sequence[str], new: Sequence[str]) -> Iterator[Line]:
    """Sentences of two editions: those that stay, then pairs of what was said and what is said now."""
    matcher = SequenceMatcher(a=old, b=new, autojunk=False)
    for what, a, b, c, d in matcher.get_opcodes():
        if what == "equal":
            yield from (Line(what="same", old=said, new=said) for said in old[a:b])
            continue
        for n in range(max(b - a, d - c)):
            before, after = "".join(old[a + n : b][:1]), "".join(new[c + n : d][:1])
            kind = "changed" if before and after else "removed" if before else "added"
            yield Line(what=kind, old=before, new=after)
