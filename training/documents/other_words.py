"""The words of records outside the rules, and of what a demonstration holds besides what the rules read."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from training.documents.record_labels import INTERPRETERS, STOPPED_BY
from training.people.models import Family
from training.records.models import Record
from training.standing.questions import written

if TYPE_CHECKING:
    from training.documents.record_words import RecordWords


def from_paper(transcribed: Mapping[str, Any]) -> str:
    """Who saw it and who typed it, of a demonstration that was written on paper first."""
    return _("Seen by %(saw)s; typed from paper by %(typed)s.") % {
        "saw": transcribed["saw"],
        "typed": transcribed["typed"],
    }


def _paper(transcribed: Mapping[str, Any]) -> str:
    said = from_paper(transcribed)
    document = transcribed.get("from")
    return f"{said} {_('Document %(number)s.') % {'number': document}}" if document else said


def interpreter(value: Mapping[str, str]) -> str:
    """Which kind of interpreter, and for which language."""
    kind = str(INTERPRETERS.get(value["kind"], value["kind"]))
    return f"{kind}, {value['language']}" if value.get("language") else kind


def minutes(value: int) -> str:
    return duration(timedelta(minutes=value))


def duration(length: timedelta) -> str:
    """A length in hours and minutes."""
    hours, left = divmod(round(length.total_seconds() / 60), 60)
    parts = [ngettext("%(n)s hour", "%(n)s hours", hours) % {"n": hours}] if hours else []
    if left or not hours:
        parts.append(ngettext("%(n)s minute", "%(n)s minutes", left) % {"n": left})
    return " ".join(parts)


def _stop(value: Mapping[str, str]) -> str:
    who = str(STOPPED_BY.get(value["by"], value["by"]))
    return f"{who}: {value['why']}" if value.get("why") else who


# What a record is, in one line ----------------------------------------------------------------------------


def _event(words: RecordWords, record: Record) -> str:
    body = record.data
    if body["part"] == "debrief":
        return _("Talked through. %(about)s") % {"about": words.about(body["record"])}
    return _("Handled by %(names)s; it counts for nothing") % {"names": words.names(body["who"])}


def _comment(words: RecordWords, record: Record) -> str:
    return words.about(record.data["record"])


def _stay(words: RecordWords, record: Record) -> str:
    body = record.data
    part = body["part"]
    if part == "start":
        return _("Start: %(place)s") % {"place": body["place"]}
    if part == "duty":
        until = f"{written(date.fromisoformat(body['until_on']))}, {body['until_time']}"
        return _("On duty until %(until)s: %(names)s") % {"names": words.names(body["who"]), "until": until}
    if part == "intervention":
        return _("Staff stepped in: %(reason)s (%(who)s)") % {"reason": body["reason"], "who": body["by_whom"]}
    return _("End")


def _appointment(words: RecordWords, record: Record) -> str:
    body = record.data
    if body["part"] == "cancelled":
        return _("Cancelled. %(about)s") % {"about": words.about(body["record"])}
    said = {
        "what": planned(words, body),
        "name": words.names([body["caregiver"]]),
        "when": f"{written(date.fromisoformat(body['day']))}, {body['at']}",
    }
    if body["part"] == "moved":
        return _("Moved: %(what)s, %(when)s, %(name)s’s turn") % said
    return _("%(what)s, %(when)s, %(name)s’s turn") % said


def _agreement(words: RecordWords, record: Record) -> str:
    said = {"name": words.names([record.data["caregiver"]])}
    if record.data["agreed"]:
        return _("Others in the family may see what %(name)s is ready for") % said
    return _("Others in the family may not see what %(name)s is ready for") % said


def planned(words: RecordWords, body: Mapping[str, Any]) -> str:
    """What an appointment is for: its skills, and what was written beside them."""
    return ", ".join(filter(None, [*(words.words.skill(s).title for s in body["skills"]), body.get("what")]))


def _offer(words: RecordWords, record: Record) -> str:
    body = record.data
    return _("%(to)s, open through %(day)s") % {"to": body["to"], "day": written(date.fromisoformat(body["through"]))}


def _offer_end(words: RecordWords, record: Record) -> str:
    return f"{record.data['to']}. {words.about(record.data['record'])}"


def _handover(words: RecordWords, record: Record) -> str:
    said = {"organisation": record.data["from_title"], "n": record.data["records"]}
    return _("From %(organisation)s, with its %(n)s records beside") % said


def _outside(words: RecordWords, record: Record) -> str:
    said = {"evidence": record.data["evidence"], "says": record.data["says"]}
    return _("%(evidence)s, says %(says)s; unverified, it counts for nothing") % said


def _closing(words: RecordWords, record: Record) -> str:
    return str(Family.Why(record.data["why"]).label)


WHAT: Mapping[str, Callable[[RecordWords, Record], str]] = {
    "event": _event,
    "comment": _comment,
    "stay": _stay,
    "appointment": _appointment,
    "agreement": _agreement,
    "kit_check": lambda words, record: words.words.item(record.data["item"]),
    "offer": _offer,
    "offer_withdrawn": _offer_end,
    "offer_declined": _offer_end,
    "offer_accepted": _offer_end,
    "handover": _handover,
    "outside_evidence": _outside,
    "closing": _closing,
    "reopening": lambda words, record: str(record.data["reason"]),
}
VALUES: Mapping[str, Callable[[RecordWords, Any], str]] = {
    "who": lambda words, value: words.names(value),
    "skills": lambda words, value: ", ".join(words.words.skill(s).title for s in value),
    "checks": lambda words, value: words.observer(value),
    "interpreter": lambda words, value: interpreter(value),
    "minutes": lambda words, value: minutes(int(value)),
    "transcribed": lambda words, value: _paper(value),
    "stop": lambda words, value: _stop(value),
    "one_of": lambda words, value: _one_of(value),
}


def _one_of(many: Mapping[str, Any]) -> str:
    """That a recheck is one of many, by their number alone."""
    return _("one of %(records)s rechecks in %(families)s families, by one signature") % many
