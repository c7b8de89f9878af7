"""What templates draw with: marks and their words, days, the date line, and a few wrappers.

The words of standings, steps, outcomes and verdicts are here and nowhere else. Load with ``{% load register %}``.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from typing import NamedTuple

from django import forms, template
from django.forms import BoundField
from django.forms.boundfield import BoundWidget
from django.http import QueryDict
from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext_lazy as _

from training.pages.often import day_written

register = template.Library()


class Words(NamedTuple):
    """What one standing is called, by staff and to a caregiver, and the shape each sees."""

    staff: Promise
    caregiver: Promise
    staff_mark: str
    caregiver_mark: str


STANDING_WORDS: Mapping[str, Words] = {
    "signed_off": Words(_("Signed off"), _("ready alone"), "signed_off", "signed_off"),
    "awaiting": Words(_("Awaiting"), _("waiting for a yes"), "awaiting", "awaiting"),
    "in_training": Words(_("In training"), _("learning"), "in_training", "in_training"),
    "not_started": Words(_("Not started"), _("not started"), "not_started", "not_started"),
    "held": Words(_("Held"), _("please show us again"), "held", "held"),
    "lapsed": Words(_("Lapsed"), _("refresher due"), "lapsed", "lapsed"),
    "withdrawn": Words(_("Withdrawn"), _("please show us again"), "withdrawn", "held"),
    "not_required": Words(_("Not required"), _("not asked of you"), "not_required", "not_required"),
}

# A held skill can be held by something that showing it again does not end.
HELD_BY_A_HOLD = Words(_("Held (a hold)"), _("on pause"), "on_pause", "on_pause")
HELD_CAREGIVER_WORDS = {
    "skill": _("waiting for another skill"),
    "prescriber": _("waiting for the prescriber’s yes"),
}

STEP_WORDS = {
    "independent": _("Independent"),
    "prompted": _("Prompted"),
    "assisted": _("Assisted"),
    "omitted": _("Omitted"),
    "not_seen": _("Not seen"),
    "not_applicable": _("Not applicable"),
    "outside": _("Outside the limit"),
}

OUTCOME_WORDS = {
    "passed": _("Passed"),
    "not_passed": _("Not passed"),
    "critical": _("Critical"),
    "incomplete": _("Incomplete"),
    "disputed": _("Disputed"),
    "practice": _("Practice"),
}

VERDICT_WORDS = {
    "ready": _("Ready"),
    "ready_by_exception": _("Ready by exception"),
    "not_ready": _("Not ready"),
}

# Every shape of templates/_marks.html by its plain name; no two share one.
MARKS = {
    **{
        name: f"m-{name}" for name in (*STANDING_WORDS, "on_pause", "attention", "gate_open", "gate_closed", "register")
    },
    **{name: f"s-{name}" for name in (*STEP_WORDS, "none")},
    **{name: f"o-{name}" for name in OUTCOME_WORDS},
    **{name: f"v-{name}" for name in VERDICT_WORDS},
}


# Marks and their words


@register.simple_tag
def mark(name: str, css: str = "r-mark") -> SafeString:
    """A shape without its word: only where the word stands beside it. ``{% mark "attention" %}``."""
    return format_html(
        '<svg class="{}" aria-hidden="true" focusable="false"><use href="#{}"></use></svg>', css, MARKS[str(name)]
    )


@register.simple_tag
def standing_mark(standing: str | None, pause: bool = False) -> SafeString:
    """Shape and word, for staff. ``pause``: it is held by a hold. None: no care plan yet, so no standing."""
    if standing is None:
        return format_html('<span class="r-quietly">{}</span>', _("no care plan yet"))
    words = _standing_words(standing, pause)
    return _worded("standing", standing, mark(words.staff_mark), words.staff)


@register.simple_tag
def standing_plain(standing: str, pause: bool = False, waiting_for: str = "") -> Promise:
    """The word a caregiver reads. ``waiting_for``: "skill" or "prescriber", when that is all that holds it."""
    if waiting_for:
        return HELD_CAREGIVER_WORDS[waiting_for]
    return _standing_words(standing, pause).caregiver


@register.simple_tag
def standing_plain_mark(standing: str, pause: bool = False, css: str = "r-big-mark") -> SafeString:
    """The shape a caregiver sees, without its word: the cross and the staff's red never reach them."""
    return mark(_standing_words(standing, pause).caregiver_mark, css)


@register.simple_tag
def step_mark(result: str | None) -> SafeString:
    """Shape and word of a step's result. None: not chosen yet."""
    if result is None:
        return _worded("result", "none", mark("none"), _("choose"), css="r-step-result")
    return _worded("result", result, mark(str(result)), STEP_WORDS[str(result)], css="r-step-result")


@register.simple_tag
def outcome_mark(outcome: str) -> SafeString:
    """Shape and word of a demonstration's outcome; "practice" for one that moves nothing."""
    return _worded("outcome", outcome, mark(str(outcome)), OUTCOME_WORDS[str(outcome)])


@register.simple_tag
def verdict_mark(verdict: str) -> SafeString:
    """Shape and word of a family's readiness, for a table. A banner is built from ``mark`` and ``verdict_word``."""
    return _worded("verdict", verdict, mark(str(verdict), "r-mark r-mark-wide"), VERDICT_WORDS[str(verdict)])


# The words alone, for sentences and the labels of pictures


@register.simple_tag
def standing_word(standing: str, pause: bool = False) -> Promise:
    """What staff call a standing."""
    return _standing_words(standing, pause).staff


@register.simple_tag
def step_word(result: str) -> Promise:
    """What a step's result is called."""
    return STEP_WORDS[str(result)]


@register.simple_tag
def outcome_word(outcome: str) -> Promise:
    """What a demonstration's outcome is called."""
    return OUTCOME_WORDS[str(outcome)]


@register.simple_tag
def verdict_word(verdict: str) -> Promise:
    """What a family's readiness is called."""
    return VERDICT_WORDS[str(verdict)]


def _standing_words(standing: str, pause: bool) -> Words:
    return HELD_BY_A_HOLD if pause else STANDING_WORDS[str(standing)]


def _worded(kind: str, name: str, shape: SafeString, word: Promise, css: str = "r-standing") -> SafeString:
    return format_html('<span class="{}" data-{}="{}">{}{}</span>', css, kind, name, shape, word)


# Days


@register.simple_tag
def day(value: date | None) -> str:
    """14 May 2026; nothing for None."""
    return _written(value, "DATE_FORMAT")


@register.simple_tag
def short_day(value: date | None) -> str:
    """14 May 2026 with the month cut to three letters: 17 Nov 2026."""
    return _written(value, "SHORT_DATE_FORMAT")


@register.simple_tag
def day_of_month(value: date | None) -> str:
    """14 May, where the year is plain from the page's date."""
    return _written(value, "j M")


@register.simple_tag
def long_day(value: date | None) -> str:
    """Thursday 14 May 2026, as on the date tab."""
    return _written(value, "l j F Y")


def _written(value: date | None, form: str) -> str:
    if value is None:
        return ""
    if isinstance(value, datetime):
        raise TypeError("A day was wanted and an instant came: which day it is depends on a zone, so say it first.")
    return day_written(value, form)


# Parts of a page


@register.inclusion_tag("components/dateline.html", takes_context=True)
def dateline(context: template.Context, the_date: date) -> dict[str, object]:
    """The ruled line with the page's date. Keeps what else the address asked, but a page number.

    The date travels as ``on``, ISO. From the context: as_known, known_url, today.
    """
    asked: QueryDict = context["request"].GET.copy() if "request" in context else QueryDict(mutable=True)
    asked.pop("on", None)
    asked.pop("page", None)
    before, after = _shifted(the_date, -1), _shifted(the_date, 1)
    return {
        "the_date": the_date,
        "before": before,
        "before_query": _on(asked, before),
        "after": after,
        "after_query": _on(asked, after),
        "today": context.get("today"),
        "today_query": _on(asked, context.get("today")),
        "extra": [(name, value) for name, values in asked.lists() for value in values],
        "as_known": context.get("as_known"),
        "known_url": context.get("known_url"),
    }


def _shifted(value: date, days: int) -> date | None:
    try:
        return value + timedelta(days=days)
    except OverflowError:  # the calendar's first and last day have one neighbour
        return None


def _on(asked: QueryDict, value: date | None) -> str:
    query = asked.copy()
    if value is not None:
        query["on"] = value.isoformat()
    return query.urlencode()


@register.simple_block_tag
def slip(content: str, tab: str) -> SafeString:
    """A note with its date in a tab: ``{% slip "Last time, 5 May" %}<p>...</p>{% endslip %}``."""
    return format_html('<div class="r-slip"><b>{}</b>{}</div>', tab, content)


@register.simple_block_tag
def scroll(content: str, label: str) -> SafeString:
    """A wide table that scrolls inside a narrow screen: ``{% scroll "Families" %}<table>...{% endscroll %}``."""
    return format_html('<div class="r-scroll" role="region" aria-label="{}" tabindex="0">{}</div>', label, content)


@register.simple_tag
def widget(field: BoundField) -> SafeString:
    """A field's widget in the look's dress; its description and errors are tied to it by Django."""
    css = "form-select" if type(field.field.widget) in (forms.Select, forms.SelectMultiple) else "form-control"
    if isinstance(field.field.widget, forms.CheckboxInput):
        css = "form-check-input"
    return field.as_widget(attrs={"class": _dress(css, field)})


@register.simple_tag
def boxes(field: BoundField) -> list[BoundWidget] | None:
    """The boxes or circles of a field that is a list of them, each to be laid out with its own label; else None."""
    if not isinstance(field.field.widget, forms.RadioSelect | forms.CheckboxSelectMultiple):
        return None
    for one in field.subwidgets:
        one.data["attrs"]["class"] = _dress("form-check-input", field)
    return field.subwidgets


def _dress(css: str, field: BoundField) -> str:
    return f"{css} is-invalid" if field.errors else css
