"""Where a file's records come from: who signed how many, and which were typed from paper, late, or corrected."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from django.utils.translation import gettext as _

from training.documents.history_values import OriginLine, RecorderLine
from training.documents.record_words import Entry, RecordWords


def recorders_of(entries: Sequence[Entry]) -> tuple[RecorderLine, ...]:
    """Everybody who signed one of these records, in the order in which they first did."""
    found: dict[tuple[str, str], list[date]] = {}
    for entry in entries:
        found.setdefault((entry.name, entry.role), []).append(entry.recorded_on)
    return tuple(
        RecorderLine(name=name, role=role, records=len(days), first=min(days), last=max(days))
        for (name, role), days in found.items()
    )


def origins_of(words: RecordWords, entries: Sequence[Entry]) -> tuple[OriginLine, ...]:
    """What was corrected, decided afterwards, typed from paper, taken over or written late, in the chain's order."""
    return tuple(line for entry in entries for line in _of(words, entry))


def _of(words: RecordWords, entry: Entry) -> Iterator[OriginLine]:
    record = entry.record
    if entry.voided is not None:
        void = entry.voided.data
        yield _line(entry, _("Voided"), void["signed"]["name"], entry.voided_on or entry.on, void["reason"])
    if record.kind in ("resolution", "override"):
        yield _line(entry, entry.kind, entry.name, entry.recorded_on, record.data.get("reason", ""))
    if record.kind == "accepted":
        how = _("Taken over from %(there)s") % {"there": record.data["organisation"]}
        yield _line(entry, how, entry.name, entry.recorded_on, record.data.get("checked_how", ""))
    if record.data.get("transcribed"):
        paper = record.data["transcribed"]
        how = _("Typed from paper; seen by %(saw)s") % {"saw": paper["saw"]}
        document = _("Document %(number)s.") % {"number": paper["from"]} if paper.get("from") else ""
        yield _line(entry, how, paper["typed"], entry.recorded_on, document)
    elif entry.late:
        yield _line(entry, _("Recorded later than its day"), entry.name, entry.recorded_on, entry.late_words)


def _line(entry: Entry, how: str, by: str, on: date, why: str) -> OriginLine:
    what = f"{entry.kind}: {entry.what}"
    return OriginLine(number=entry.number, what=what, how=how, by=by, on=on, why=why)


def seen_by(words: RecordWords, entry: Entry) -> str:
    """Who watched, where that is not only whoever signed; nothing otherwise."""
    watched = [words.observer(o) for o in entry.record.data.get("observers", ())]
    if not watched or watched == [entry.name] or entry.record.data.get("transcribed"):
        return ""
    return _("Seen by %(names)s.") % {"names": "; ".join(watched)}
