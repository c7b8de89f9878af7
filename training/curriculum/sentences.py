"""What a published edition asks for, in sentences. They repeat the edition's own words and decide nothing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from decimal import Decimal
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from competency.dates import Period
from competency.fields import as_date
from competency.programme import Measure
from training.curriculum.words import Words

KINDS: Mapping[str, Mapping[str, Any]] = {
    "setting": {
        "model": gettext_lazy("on a model"),
        "simulation": gettext_lazy("in a simulation"),
        "patient": gettext_lazy("on the patient"),
    },
    "role": {"lead": gettext_lazy("leading"), "assist": gettext_lazy("assisting")},
    "mode": {"in_person": gettext_lazy("in person"), "remote": gettext_lazy("by video")},
    "place": {
        "hospital": gettext_lazy("in hospital"),
        "home": gettext_lazy("at home"),
        "school": gettext_lazy("at school"),
        "out": gettext_lazy("out of the house"),
    },
}
SIGNERS = {"caregiver": gettext_lazy("the caregiver"), "educator": gettext_lazy("the educator")}


def period_words(text: str) -> str:
    """``P6M`` as "6 months"."""
    return written_period(Period.parse(text))


def written_period(period: Period) -> str:
    """6 months; 1 year and 2 days."""
    years, months = divmod(period.months, 12)
    if years and months:
        years, months = 0, period.months
    parts = []
    if years:
        parts.append(ngettext("%(n)s year", "%(n)s years", years) % {"n": years})
    if months:
        parts.append(ngettext("%(n)s month", "%(n)s months", months) % {"n": months})
    if period.days or not parts:
        parts.append(ngettext("%(n)s day", "%(n)s days", period.days) % {"n": period.days})
    return " ".join(parts)


def either(words: Iterable[Any]) -> str:
    return _(" or ").join(str(w) for w in words)


def kind_words(need: Mapping[str, Any]) -> list[str]:
    """Which attempts a need looks at; nothing where it looks at all."""
    return [either(words[v] for v in words if v in need[key]) for key, words in KINDS.items() if need.get(key)]


def need_words(need: Mapping[str, Any]) -> str:
    """One need, such as "2 passes on the patient, on 2 different days"."""
    passes = need.get("passes", 1)
    said = " ".join([ngettext("%(n)s pass", "%(n)s passes", passes) % {"n": passes}, *kind_words(need)])
    more = []
    if need.get("days", 1) > 1:
        more.append(_("on %(n)s different days") % {"n": need["days"]})
    if need.get("observers", 1) > 1:
        more.append(_("before %(n)s different observers") % {"n": need["observers"]})
    if need.get("places", 1) > 1:
        more.append(_("in %(n)s different places") % {"n": need["places"]})
    if need.get("within"):
        more.append(_("within %(period)s") % {"period": period_words(need["within"])})
    return ", ".join([said, *more])


def is_card(body: Mapping[str, Any]) -> bool:
    return bool(body["standard"].get("evidence") == "certificate")


def standard_brief(body: Mapping[str, Any]) -> str:
    """One line for a table: edition, first need, for how long."""
    standard = body["standard"]
    if is_card(body):
        return _("card")
    first, *others = standard.get("needs") or [{}]
    needs = [need_words(first)]
    if others:
        needs.append(ngettext("%(n)s more need", "%(n)s more needs", len(others)) % {"n": len(others)})
    holds = period_words(standard["valid_for"]) if standard.get("valid_for") else _("does not lapse")
    return " · ".join([_("ed. %(n)s") % {"n": body["edition"]}, *needs, holds])


def standard_words(body: Mapping[str, Any]) -> list[str]:
    """The standard, a sentence a point."""
    standard = body["standard"]
    if is_card(body):
        return [_("A card issued elsewhere, current from its date through its own last day. It has no steps.")]
    return [
        *(need_words(need) + "." for need in standard.get("needs", ())),
        _mark(standard),
        _failure(standard),
        *_signatures(standard),
        _holds(standard),
        *_renewal(standard),
    ]


def _mark(standard: Mapping[str, Any]) -> str:
    mark = standard.get("pass_mark", 100)
    if mark == 100:
        return _("Every step alone.")
    return _("Pass mark %(mark)s %% of the steps alone; every critical step alone.") % {"mark": mark}


def _failure(standard: Mapping[str, Any]) -> str:
    if standard.get("after_failure", "restart") == "keep":
        return _("An attempt that was not passed takes no earlier pass away.")
    return _("An attempt that was critical or not passed starts the count again.")


def _signatures(standard: Mapping[str, Any]) -> Iterator[str]:
    signers = [str(SIGNERS[s]) for s in SIGNERS if s in standard.get("signatures", ())]
    if signers:
        yield _("Then signed by %(signers)s.") % {"signers": _(" and ").join(signers)}


def _holds(standard: Mapping[str, Any]) -> str:
    if not standard.get("valid_for"):
        return _("Does not lapse.")
    said = _("Holds %(period)s") % {"period": period_words(standard["valid_for"])}
    if standard.get("first_valid_for"):
        said += _(", the first time %(period)s") % {"period": period_words(standard["first_valid_for"])}
    if standard.get("valid_to") == "month_end":
        said += _(", through the end of that month")
    return said + "."


def _renewal(standard: Mapping[str, Any]) -> Iterator[str]:
    if not standard.get("valid_for"):
        return
    first = (standard.get("needs") or [{}])[0]
    renewal = standard.get("renewal") or [{"passes": 1}]
    inherited = {key: first[key] for key in KINDS if key in first}
    said = "; ".join(need_words({**inherited, **need}) for need in renewal)
    yield _("Renewed by %(needs)s.") % {"needs": said}
    yield _("Within %(period)s after its last day the same brings it back; later only a full sign-off does.") % {
        "period": period_words(standard.get("grace") or standard["valid_for"])
    }


def conditions(applies_when: Mapping[str, Any] | None, words: Words) -> str:
    """A condition on the care plan, such as "Cuff: filled with air"."""
    parts = [
        f"{words.fact(fact)}: {either(words.fact_value(fact, v) for v in values)}"
        for fact, values in (applies_when or {}).items()
    ]
    return "; ".join(parts)


def edition_words(body: Mapping[str, Any], words: Words) -> list[str]:
    """What else an edition says: when it is required, what comes first, what a change does."""
    return [
        _when(body, words),
        *_before(body, words),
        *_changes(body, words),
        _older(body.get("older_sign_offs")),
    ]


def _when(body: Mapping[str, Any], words: Words) -> str:
    said = conditions(body.get("applies_when"), words)
    if not said:
        return _("Required under every care plan.")
    return _("Required where the care plan says so, or does not say (%(conditions)s).") % {"conditions": said}


def _before(body: Mapping[str, Any], words: Words) -> Iterator[str]:
    if body.get("needs_authorisation"):
        yield _("Counts on the patient only with the prescriber’s authorisation.")
    for prerequisite in body.get("requires", ()):
        title = words.skill(prerequisite["skill"]).title
        said = _("Gate: %(skill)s signed off first") % {"skill": title}
        if prerequisite.get("within"):
            said += _(", shown within the last %(period)s") % {"period": period_words(prerequisite["within"])}
        if prerequisite.get("only_to_learn"):
            said += _("; it gates the way there only")
        yield said + "."


def _changes(body: Mapping[str, Any], words: Words) -> Iterator[str]:
    for fact, effect in body.get("on_change", {}).items():
        if effect == "recheck":
            said = _("When this changes it is shown again at once: %(fact)s.")
        elif effect == "restart":
            said = _("When this changes it starts again from the first pass: %(fact)s.")
        else:
            said = _("When this changes it is shown again within %(period)s: %(fact)s.")
        period = period_words(effect["recheck_by"]) if isinstance(effect, dict) else ""
        yield said % {"fact": words.fact(fact), "period": period}


def _older(effect: Any) -> str:
    if isinstance(effect, dict):
        day = date_format(as_date(effect["recheck_by"]), "j F Y")
        return _("Sign-offs on older editions hold; shown again on this one by %(day)s.") % {"day": day}
    if effect == "recheck":
        return _("Sign-offs on older editions are shown again from its first day.")
    return _("Sign-offs on older editions stand.")


def measure_words(measure: Mapping[str, Any] | None, words: Words) -> str:
    """The limits of a measured step as published, inclusive; and which facts state an order that goes before them."""
    if not measure:
        return ""
    said = _limits(measure.get("low"), measure.get("high"), measure["unit"])
    named = [
        SIDES[side] % {"fact": words.fact(fact)} for side, fact in (measure.get("order") or {}).items() if side in SIDES
    ]
    if not named:
        return said
    order = "; ".join(sorted(named))
    return _("%(limits)s, unless the prescriber’s order says otherwise (%(order)s)") % {"limits": said, "order": order}


SIDES = {"low": gettext_lazy("at least: “%(fact)s”"), "high": gettext_lazy("at most: “%(fact)s”")}


def fitted_words(measure: Measure) -> str:
    """The limits that hold for one patient, inclusive; and whether the prescriber ordered them."""
    said = _limits(plain_number(measure.low), plain_number(measure.high), measure.unit)
    return _("%(limits)s, as ordered") % {"limits": said} if measure.is_ordered else said


def plain_number(value: float | None) -> str | None:
    """A number without needless digits: 5 for 5.0."""
    return None if value is None else f"{Decimal(str(value)).normalize():f}"


def _limits(low: Any, high: Any, unit: str) -> str:
    if low is not None and high is not None:
        return _("%(low)s to %(high)s %(unit)s") % {"low": low, "high": high, "unit": unit}
    if high is not None:
        return _("at most %(high)s %(unit)s") % {"high": high, "unit": unit}
    if low is not None:
        return _("at least %(low)s %(unit)s") % {"low": low, "unit": unit}
    return _("in %(unit)s") % {"unit": unit}
