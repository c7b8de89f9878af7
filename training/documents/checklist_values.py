"""What a blank checklist is made of: a finished value, in words and plain dates, that knows its own document number."""

from __future__ import annotations

import hashlib
import json
from dataclasses import asdict, dataclass
from datetime import date, datetime

from training.documents.packet_values import FactLine


class BadChecklist(ValueError):  # noqa: N818 - a refusal is named in plain words here
    """A checklist that could not be filled in or typed in. ``problems`` names everything that is wrong."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        super().__init__("; ".join(problems))


@dataclass(frozen=True, slots=True, kw_only=True)
class StepLine:
    """number: its place in the edition; only: said of a step that one role alone does; unit: empty where unmeasured."""

    number: int
    text: str
    critical: bool = False
    may_skip: bool = False
    only: str = ""
    limits: str = ""
    unit: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """A question with boxes, one of which is crossed."""

    title: str
    answers: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Checklist:
    """Everything printed. Raises BadChecklist.

    family, caregiver: empty leaves a place to write in. on: the day the edition and the care plan are those of.
    known_at: aware, already in ``zone``. results: the column heads, the last of them for steps that may be skipped.
    address: opens the form it is typed into; ids and codes only.
    """

    organisation: str
    skill: str
    edition: int
    family: str
    caregiver: str
    on: date
    known_at: datetime
    zone: str
    care_plan: tuple[FactLine, ...]
    steps: tuple[StepLine, ...]
    results: tuple[str, ...]
    choices: tuple[Choice, ...]
    stops: Choice
    interpreters: Choice
    feels: Choice
    cautions: tuple[str, ...]
    notice: str
    address: str
    language: str = "en"

    def __post_init__(self) -> None:
        problems = []
        if not self.steps:
            problems.append("no step to watch")
        if self.known_at.tzinfo is None:
            problems.append("known_at has no time zone")
        if not self.address.isascii():
            problems.append("the address is not plain ASCII")
        if problems:
            raise BadChecklist(tuple(problems))

    @property
    def document(self) -> str:
        """The number of this print: the same value has the same one, such as ``7c1e-0b44-91d2``."""
        told = json.dumps(asdict(self), default=str, sort_keys=True)
        digits = hashlib.sha256(told.encode("utf-8", "surrogatepass")).hexdigest()
        return "-".join(digits[at : at + 4] for at in (0, 4, 8))
