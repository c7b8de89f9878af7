"""Records outside the rules, as tests write them: a first page, an event, a comment, a stay's entries, an appointment."""

from __future__ import annotations

import uuid
from typing import Any

from tests.cast import NOW
from training.people.models import Caregiver, Family, Member
from training.records.models import Record
from training.standing import deeds


def keep(who: Member | Caregiver, family: Family, kind: str, /, **body: Any) -> Record:
    return deeds.record(family=family, kind=kind, body=body, by=who, intent=uuid.uuid4(), at=NOW)


def page_body(family: Family, **changes: Any) -> dict[str, Any]:
    """A file's first page as its row has it. One from before there were sites names none."""
    born = family.patient_born.isoformat() if family.patient_born else None
    return {
        "name": family.name,
        "patient": {"name": family.patient_name, "called": family.patient_called, "born": born},
        "zone": family.time_zone,
        "programme": str(family.enrolment.programme.public_id),
        **changes,
    }


def place(who: Member, family: Family, site: str) -> Record:
    """Write down which site looks after a family."""
    return keep(who, family, "family", **page_body(family, site=site))


def event_body(*who: Caregiver, **changes: Any) -> dict[str, Any]:
    return {
        "part": "event",
        "on": "2026-05-12",
        "time": "03:10",
        "who": [c.case_id for c in who],
        "happened": "The tube was blocked; SECRET A.",
        "done": "It was changed at once; SECRET B.",
        "thanked": True,
        "debrief_on": None,
        "debrief_by": "",
        "debrief_said": "",
        **changes,
    }


def comment_body(caregiver: Caregiver, record: Record, /, **changes: Any) -> dict[str, Any]:
    return {
        "caregiver": caregiver.case_id,
        "record": str(record.intent),
        "on": "2026-05-14",
        "said": "I was tired that day.",
        **changes,
    }


def start_body(**changes: Any) -> dict[str, Any]:
    return {"part": "start", "on": "2026-05-12", "time": "09:00", "place": "Ward 3", "skill": None, **changes}


def duty_body(start: Record, who: Any, begins: tuple[str, str], ends: tuple[str, str]) -> dict[str, Any]:
    return {
        "part": "duty",
        "record": str(start.intent),
        "who": [c.case_id for c in who],
        "on": begins[0],
        "time": begins[1],
        "until_on": ends[0],
        "until_time": ends[1],
    }


def stepped_in_body(start: Record, **changes: Any) -> dict[str, Any]:
    named = {"part": "intervention", "record": str(start.intent), "on": "2026-05-12", "time": "22:15"}
    return {**named, "reason": "The oxygen fell.", "by_whom": "A nurse", **changes}


def end_body(start: Record, **changes: Any) -> dict[str, Any]:
    return {"part": "end", "record": str(start.intent), "on": "2026-05-13", "time": "09:00", "note": "", **changes}


def appointment_body(caregiver: Caregiver, /, **changes: Any) -> dict[str, Any]:
    return {
        "part": "planned",
        "day": "2026-05-21",
        "at": "10:00",
        "minutes": 45,
        "skills": ["tube_change"],
        "what": "",
        "caregiver": caregiver.case_id,
        "who": [],
        "checks": None,
        "interpreter": None,
        "place": "at home",
        **changes,
    }


def off_body(first: Record, **changes: Any) -> dict[str, Any]:
    return {"part": "cancelled", "record": str(first.intent), "reason": "SECRET C: nobody is free.", **changes}
