"""What the other side is shown before it accepts: enough to decide, and not the file. No full name, no birth date, no
caregiver's name, nobody's results.
"""

from __future__ import annotations

from datetime import date
from typing import Any

from training.standing.questions import FamilyOn

_AGES = ((1, "infant"), (5, "young_child"), (13, "child"), (18, "teenager"))  # years below which the word holds


def age_group(born: date | None, day: date) -> str:
    """The patient's age as a word's code; "" where the file has no birth date."""
    if born is None:
        return ""
    years = day.year - born.year - ((day.month, day.day) < (born.month, born.day))
    return next((word for below, word in _AGES if years < below), "adult")


def summary_of(picture: FamilyOn) -> dict[str, Any]:
    """The family on the picture's day, as values that are written into the offer."""
    family, span = picture.family, picture.verdict_span
    return {
        "as_of": picture.day.isoformat(),
        "called": family.patient_called,
        "age": age_group(family.patient_born, picture.day),
        "programme": picture.words.title,
        "verdict": span.value.value if span else "",
        "since": span.start.isoformat() if span else "",
        "missing": [m.title for m in picture.missing] if span else [],
        "caregivers": len(_here(picture)),
        "sets": _sets(picture),
        "plan": [[f.title, f.value] for f in picture.facts if f.is_stated],
    }


def _here(picture: FamilyOn) -> list[Any]:
    return [c for c in picture.caregivers if c.through is None or picture.day <= c.through]


def _sets(picture: FamilyOn) -> list[list[Any]]:
    """Each set by name, with how many caregivers hold it on the day."""
    held = [picture.held_sets(c) for c in _here(picture)] if picture.care_plan else []
    return [[title["title"], sum(1 for one in held if one.get(code))] for code, title in picture.words.sets.items()]
