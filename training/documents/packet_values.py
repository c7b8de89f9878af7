"""What a packet is made of: a finished value, in words and plain dates, that knows when it contradicts itself."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from training.documents.history_values import BandsBlock, OriginLine, RecorderLine
from training.documents.pdf.marks import MARKS

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip

SENTENCES = {
    "ready": "This family meets the programme’s rules on this date.",
    "ready_by_exception": "This family meets the programme’s rules on this date, with the exceptions named below.",
    "not_ready": "This family does not yet meet the programme’s rules on this date.",
    None: "The programme’s rules give no verdict on this date.",
}


class BadPacket(ValueError):  # noqa: N818 - a refusal is named in plain words here
    """A packet that contradicts itself. ``problems`` names every contradiction."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        super().__init__("; ".join(problems))


@dataclass(frozen=True, slots=True, kw_only=True)
class ExceptionLine:
    """covers: what is missing that this exception allows, in words; by: name and role."""

    covers: str
    by: str
    reason: str
    last_day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingLine:
    title: str
    lines: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class FactLine:
    title: str
    value: str
    stated: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class SkillLine:
    """standing: a key of MARKS, None where there is no standing; last_day: None when it has no end."""

    title: str
    standing: str | None
    word: str
    last_day: date | None = None
    reasons: tuple[str, ...] = ()
    asked: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class CaregiverBlock:
    """sets: each set in words, such as "full: held". through_day: None while the person stays."""

    name: str
    relation: str
    sets: tuple[str, ...] = ()
    from_day: date | None = None
    through_day: date | None = None
    skills: tuple[SkillLine, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ItemLine:
    """state: in words, such as "done", "not done" or "out of date"."""

    title: str
    done_on: date | None
    by: str
    through: date | None
    state: str


@dataclass(frozen=True, slots=True, kw_only=True)
class AuthorisationLine:
    skill: str
    prescriber: str
    from_day: date
    through_day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedLine:
    """number: in the chain; signed_at: aware; note: for a voided record the reason."""

    number: int
    kind: str
    on: date
    what: str
    name: str
    role: str
    signed_at: datetime | None
    note: str = ""
    voided_on: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Packet:
    """Everything printed, in words and plain values. Raises BadPacket.

    known_at: aware, and already in the zone that ``zone`` names. chain_head: hex digits of the newest record's digest.
    programme_head: the same of the programme's chain.
    verdict_lines: printed after the sentence that belongs to the verdict, which is the packet's own.
    """

    organisation: str
    patient: str
    called: str
    born: date | None
    as_of: date
    known_at: datetime
    zone: str
    verdict: str | None
    verdict_word: str
    care_plan_since: date | None
    chain_head: str
    chain_length: int
    notice: str
    title: str = "Discharge-readiness packet"
    language: str = "en"
    verdict_lines: tuple[str, ...] = ()
    exceptions: tuple[ExceptionLine, ...] = ()
    missing: tuple[MissingLine, ...] = ()
    care_plan: tuple[FactLine, ...] = ()
    caregivers: tuple[CaregiverBlock, ...] = ()
    team: tuple[str, ...] = ()
    items: tuple[ItemLine, ...] = ()
    authorisations: tuple[AuthorisationLine, ...] = ()
    signatures: tuple[SignedLine, ...] = ()
    cautions: tuple[str, ...] = ()
    bands: tuple[BandsBlock, ...] = ()
    recorders: tuple[RecorderLine, ...] = ()
    origins: tuple[OriginLine, ...] = ()
    programme: str = ""
    programme_head: str = ""

    def __post_init__(self) -> None:
        problems = tuple(_problems(self))
        if problems:
            raise BadPacket(problems)


def _problems(packet: Packet) -> Iterable[str]:
    if packet.verdict not in SENTENCES:
        yield f"no such verdict: {packet.verdict}"
    if packet.verdict == "ready_by_exception" and not packet.exceptions:
        yield "ready by exception, but no exception is named"
    if packet.known_at.tzinfo is None:
        yield "known_at has no time zone"
    for line in packet.signatures:
        if line.signed_at is not None and line.signed_at.tzinfo is None:
            yield f"record {line.number}: signed_at has no time zone"
    standings = {skill.standing for block in packet.caregivers for skill in block.skills} - {None}
    standings |= {piece.standing for block in packet.bands for line in block.lines for piece in line.pieces}
    for standing in sorted(str(standing) for standing in standings - MARKS.keys()):
        yield f"no such standing: {standing}"


def day(value: date, *, short: bool = False) -> str:
    """The one way days are printed: ``14 November 2026``, or ``14 Nov 2026`` where there is little room."""
    month = MONTHS[value.month - 1]
    return f"{value.day} {month[:3] if short else month} {value.year}"


def instant(value: datetime, zone: str = "") -> str:
    """Local day and time with the zone, such as ``12 June 2026, 15:20 (Europe/Dublin)``."""
    return f"{day(value)}, {value:%H:%M} ({zone or getattr(value.tzinfo, 'key', None) or value.tzname()})"


def grouped(digest: str) -> str:
    """Hex digits in groups of eight, to be compared by eye."""
    return " ".join(digest[at : at + 8] for at in range(0, len(digest), 8)) or "none"
