"""A deliberately naive reading of section 4 of the design page: ``answer(case)`` for a valid case of section 5.

Written from the page alone, to be compared with the rules package, so it shares no code with it. It walks day by day,
and in a day moment by moment, from the first date in the case to a day past which nothing can change.
``because`` is left out, and ``missing`` holds only codes.

Readings chosen where the page leaves two (the one that clears less or later, unless said):

 1. "A critical attempt looked at by a need ends it": one of the kept standard's ``needs`` (4.4 says "or its renewal"
    where it means both).
 2. "Ending moves all floors, renewal's too; an awaiting skill is not renewed": after an ended wait the skill is in
    training, and only a full sign-off, an acceptance or a certificate leads on, even inside an old grace.
 3. "a critical assessment looked at by a need of the standard or its renewal": for an awaiting skill either the kept
    standard or the one in force.
 4. "again what it was at the latest completing or renewing pass": its last stated value by that pass, since "a fact is
    compared with its last stated value". A return is a change: stating the same value again closes nothing.
 5. "the latest completing or renewing pass" is a fact of the past: it also is the one a wait began with, ended or not.
 6. "A full sign-off whose needs would hold on such passes alone" closes a recheck when the skill becomes current, not
    while awaiting; such passes also had the gate open, and were tallied for that sign-off.
 7. "what would close it has happened since": watched passes of a pending recheck are cut like those of an open one
    (withdrawal, ended wait, restart, failures). Satisfying it renews nothing by itself.
 8. "authorisation in force where the skill needs one": asked of the edition in force that day, not the attempt's own.
 9. "its gate is that of the end of the day it began": ``within`` is counted to that day too; with no edition in force
    that day the gate is closed.
10. "A prerequisite the care plan does not call for is waived": before any care plan entry all facts are unknown, so
    nothing is waived, except skills without an edition in force (those are "not required").
11. "required, then not, then again" is watched at every moment from the first care plan entry on, so twice in one day
    is enough.
12. "share of applicable steps": steps marked not_applicable are not applicable, so an attempt with nothing else is one
    where "no step applies". A value outside its limits is not independent, also when not_seen was ticked.
13. ``last_day`` "of its own clock" is given for a current or lapsed skill also while the care plan does not call for
    it (it clears nothing).
14. "through the earlier of its own last day and the last day a renewal that day would give": when both are the same,
    grace is counted from that day itself where this ends earlier.
15. "each ``fact`` that a condition of any skill or step in force asks about": also of skills not required.
16. ``grace`` and renewal are those of the edition in force on the day they are asked about.
17. "the last recorded stands": equal instants are ordered by id.
18. A certificate after an acceptance: last day by rule h, from the certificates alone. Signatures are not asked for
    certificates ("current from its date").
19. ``team.by`` is the name of the first alternative that is met.
"""

from __future__ import annotations

from datetime import timedelta

from .pieces import DATE, DAY, DURATION, add, covers, day, duration, facts_at
from .team import birthday, missing_codes, team_by, verdict_of
from .walk import Family, Walk


def spans_of(days, name):
    """Group equal consecutive (day, value); the last is open."""
    spans = []
    for d, value in days:
        if spans and spans[-1][name] == value:
            continue
        if spans:
            spans[-1]["through"] = (d - DAY).isoformat()
        spans.append({name: value, "from": d.isoformat(), "through": None})
    return spans


def span_on(spans, on):
    return next(
        (s for s in spans if day(s["from"]) <= on and (s["through"] is None or on <= day(s["through"]))),
        {"standing": None, "verdict": None, "from": None, "through": None},
    )


def values_in(value, found):
    """Collect every date and every duration written anywhere in a case."""
    if isinstance(value, dict):
        for one in value.values():
            values_in(one, found)
    elif isinstance(value, list):
        for one in value:
            values_in(one, found)
    elif isinstance(value, str):
        found.add(value)
    return found


def bounds(case):
    """The first day anything happens and a day past which nothing changes (birthdays aside)."""
    dates, periods = [day(case["on"])], []
    unborn = {**case, "caregivers": [{**c, "born": None} for c in case["caregivers"]]}
    for text in values_in(unborn, set()):
        if DURATION.fullmatch(text):
            periods.append(duration(text))
        elif DATE.fullmatch(text):
            dates.append(day(text))
    past = max(dates)
    longest = max((add(past, p) - past for p in periods), default=timedelta(0))
    return min(dates), past + longest + timedelta(days=40)


def answer(case):
    family = Family(case)
    on = day(case["on"])
    first, last = bounds(case)
    walks = {c["id"]: Walk(family, c).run(first, last) for c in case["caregivers"]}
    start = family.first_plan_day
    shown = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    shown = [d for d in shown if start is not None and d >= start]
    begun = start is not None and on >= start
    rules = family.rules_on(on)

    def holds_set(caregiver, members, d):
        standings = walks[caregiver["id"]][min(d, last)]
        asked = [standings[s]["standing"] for s in members if standings[s]["required"]]
        return covers(caregiver, d) and bool(asked) and all(s == "signed_off" for s in asked)

    caregivers = []
    for caregiver in case["caregivers"]:
        days = walks[caregiver["id"]]
        agreed = {s for name in caregiver.get("sets") or [] for s in ((rules or {}).get("sets") or {}).get(name, [])}
        skills = []
        for skill in family.skills:
            spans = spans_of([(d, days[d][skill]["standing"]) for d in shown], "standing")
            span, then = span_on(spans, on), days[on][skill]
            last_day = then["last_day"] if begun else None
            skills.append(
                {
                    "skill": skill,
                    "standing": span["standing"],
                    "since": span["from"],
                    "through": span["through"],
                    "last_day": last_day.isoformat() if last_day else None,
                    "may_practise": begun and then["may_practise"],
                    "asked": skill in agreed,
                    "spans": spans,
                }
            )
        sets = {
            name: begun and holds_set(caregiver, members, on)
            for name, members in ((rules or {}).get("sets") or {}).items()
        }
        caregivers.append({"id": caregiver["id"], "sets": sets, "skills": skills})

    def missing_on(d):
        return missing_codes(family, holds_set, d, facts_at(family.care_plan, d) or {})

    birthdays = sorted({b for b in birthdays_of(case) if b > last})
    verdicts = [(d, verdict_of(family, missing_on(d), d)) for d in shown + (birthdays if start is not None else [])]
    spans = spans_of(verdicts, "verdict")
    span = span_on(spans, on)
    by = team_by(family, holds_set, on) if begun else None
    return {
        "on": case["on"],
        "known_at": case.get("known_at"),
        "caregivers": caregivers,
        "team": {"met": by is not None, "by": by},
        "readiness": {
            "verdict": span["verdict"],
            "since": span["from"],
            "through": span["through"],
            "missing": [{"code": code} for code in missing_on(on)] if begun else [],
            "spans": spans,
        },
    }


def birthdays_of(case):
    """Every day on which somebody reaches an age a team rule asks for."""
    ages = {
        people["minimum_age"]
        for rules in case["programme"].get("rules") or []
        for alternative in rules.get("team") or []
        for people in alternative["people"]
        if people.get("minimum_age") is not None
    }
    return [birthday(day(c["born"]), age) for c in case["caregivers"] if c.get("born") for age in ages]
