"""What a family's file tells beside the rules: events, comments, stays, appointments, as records to write."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, datetime, time, timedelta
from typing import Any

from training.exchange.demo.people import intent
from training.exchange.demo.story import REST_AT, Deed, Story
from training.people.models import Member

_WRITTEN = timedelta(minutes=5)  # from something that happened to its record


def together(story: Story) -> Iterator[Deed]:
    """Every line under ``together``, in the order of the file."""
    for line in story.about.get("together", []):
        yield from _KINDS[line["kind"]](story, line)


def _member(story: Story, line: Mapping[str, Any]) -> Member:
    return story.home.members[line["by"]] if "by" in line else story.home.observer(0)


def _who(story: Story, names: list[str]) -> list[str]:
    return [story.caregivers[name].case_id for name in names]


def _moment(story: Story, distance: int | str, clock: str) -> datetime:
    return datetime.combine(story.day(distance), time.fromisoformat(clock), story.family.zone)


def _at(moment: datetime, day: str = "on", clock: str = "time") -> dict[str, str]:
    return {day: moment.date().isoformat(), clock: f"{moment:%H:%M}"}


def _event(story: Story, line: Mapping[str, Any]) -> Iterator[Deed]:
    happened = _moment(story, line["day"], line["time"])
    debrief = line.get("debrief")
    body = {
        "part": "event",
        **_at(happened),
        "who": _who(story, line["who"]),
        "happened": line["happened"],
        "done": line["done"],
        "thanked": line.get("thanked", False),
        "debrief_on": story.day(debrief["day"]).isoformat() if debrief else None,
        "debrief_by": debrief["by"] if debrief else "",
        "debrief_said": debrief["said"] if debrief else "",
    }
    written = datetime.combine(story.day(line["written"]), REST_AT, story.family.zone)
    yield Deed(at=written, kind="event", body=body, by=_member(story, line))


def _comment(story: Story, line: Mapping[str, Any]) -> Iterator[Deed]:
    caregiver, day = story.caregivers[line["who"]], story.day(line["day"])
    body = {
        "caregiver": caregiver.case_id,
        "record": str(intent(story.family.public_id, line["record"])),
        "on": day.isoformat(),
        "said": line["said"],
    }
    yield Deed(at=datetime.combine(day, REST_AT, story.family.zone), kind="comment", body=body, by=caregiver)


def _stay(story: Story, line: Mapping[str, Any]) -> Iterator[Deed]:
    by, label = _member(story, line), line["label"]
    named = {"record": str(intent(story.family.public_id, label))}

    def deed(at: datetime, body: dict[str, Any], label: str = "") -> Deed:
        return Deed(at=at + _WRITTEN, kind="stay", body=body, by=by, label=label)

    began, ended = _moment(story, *line["from"]), _moment(story, *line["to"])
    start = {"part": "start", **_at(began), "place": line["place"], "skill": line.get("skill")}
    yield deed(began, start, label)
    for who, (day, clock), (last, until) in line["duty"]:
        begins, ends = _moment(story, day, clock), _moment(story, last, until)
        on_duty = {"who": _who(story, who), **_at(begins), **_at(ends, "until_on", "until_time")}
        yield deed(ends, {"part": "duty", **named, **on_duty})
    for one in line.get("stepped_in", []):
        moment = _moment(story, *one["at"])
        why = {"reason": one["reason"], "by_whom": one["by_whom"]}
        yield deed(moment, {"part": "intervention", **named, **_at(moment), **why})
    yield deed(ended + _WRITTEN, {"part": "end", **named, **_at(ended), "note": ""})


def _appointment(story: Story, line: Mapping[str, Any]) -> Iterator[Deed]:
    day: date = story.day(line["for"])
    body = {
        "part": "planned",
        "day": day.isoformat(),
        "at": line["at"],
        "minutes": line.get("minutes"),
        "skills": line.get("skills", []),
        "what": line.get("what", ""),
        "caregiver": story.caregivers[line["turn"]].case_id,
        "who": _who(story, line.get("along", [])),
        "checks": story.home.members[line["checks"]].observer_id if "checks" in line else None,
        "interpreter": line.get("interpreter"),
        "place": line.get("place", ""),
    }
    planned = datetime.combine(story.day(line["day"]), REST_AT, story.family.zone)
    yield Deed(at=planned, kind="appointment", body=body, by=_member(story, line))


_KINDS = {"event": _event, "comment": _comment, "stay": _stay, "appointment": _appointment}
