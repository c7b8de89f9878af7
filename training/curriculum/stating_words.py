"""Two states of a programme's title, notice, facts and checks side by side, in sentences."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from django.utils.translation import gettext as _

from training.curriculum.checks import settings_in_words
from training.curriculum.words import Words


def changes(old: Words, new: Words, old_checks: Any, new_checks: Any) -> Iterator[str]:
    """What is said otherwise: the title, the notice, each fact, each check."""
    if old.title != new.title:
        yield _("Title: “%(new)s” instead of “%(old)s”.") % {"old": old.title, "new": new.title}
    if old.notice != new.notice:
        yield _("Notice: “%(new)s” instead of “%(old)s”.") % {"old": old.notice, "new": new.notice}
    if old.is_sample and not new.is_sample:
        yield _("No longer a sample: the organisation signs that it has adapted this programme.")
    for code, fact in new.facts.items():
        yield from _fact(old.facts.get(code), fact)
    yield from _checks(_said(old, old_checks), _said(new, new_checks))


def _fact(old: Mapping[str, Any] | None, new: Mapping[str, Any]) -> Iterator[str]:
    title = {"fact": new["title"]}
    if old is None:
        yield _("Fact added: “%(fact)s”.") % title
        return
    if bool(old.get("retired")) != bool(new.get("retired")):
        yield (_("Fact retired: “%(fact)s”.") if new.get("retired") else _("Fact asked for again: “%(fact)s”.")) % title
    if old.get("device", True) != new.get("device", True):
        about = _("Fact “%(fact)s”: it may be about equipment, so rechecks of one device offer it.")
        yield (about if new.get("device", True) else _("Fact “%(fact)s”: not about equipment.")) % title
    before, after = _words(old), _words(new)
    if before != after:
        yield _("Fact “%(fact)s”: “%(new)s” instead of “%(old)s”.") % {**title, "old": before, "new": after}


def _words(fact: Mapping[str, Any]) -> str:
    said = [fact["title"], fact["plain"], ", ".join(fact.get("choices", {}).values())]
    if fact["kind"] == "number":
        said.append(f"{fact.get('low', '')}–{fact.get('high', '')} {fact.get('unit', '')}")
    return "; ".join(part for part in said if part)


def _said(words: Words, checks: Any) -> dict[str, tuple[str, str]]:
    """By the check's code: its title, and its rules and sources as one text."""
    found = {}
    for check in settings_in_words(checks, words):
        sources = [_("source: %(source)s") % {"source": source} for source in check.sources]
        found[check.code] = check.title, "; ".join([*check.rules, *sources])
    return found


def _checks(old: Mapping[str, tuple[str, str]], new: Mapping[str, tuple[str, str]]) -> Iterator[str]:
    for code in [*new, *(code for code in old if code not in new)]:
        before, after = old.get(code), new.get(code)
        if before is None and after is not None:
            yield _("Check added, %(title)s: %(rule)s.") % {"title": after[0], "rule": after[1]}
        elif after is None and before is not None:
            yield _("Check taken out: %(title)s.") % {"title": before[0]}
        elif before != after and before is not None and after is not None:
            said = {"title": after[0], "old": before[1], "new": after[1]}
            yield _("Check %(title)s: “%(new)s” instead of “%(old)s”.") % said
