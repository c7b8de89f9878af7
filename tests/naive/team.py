"""The naive reading of 4.7: who makes up the team, what is missing, and the verdict."""

from __future__ import annotations

from .pieces import add, covers, day, duration


def birthday(born, age):
    """The day ``age`` is reached; a 29 February birthday falls on the 28th in other years."""
    return add(born, (12 * age, 0))


def old_enough(caregiver, age, on):
    if age is None:
        return True
    return bool(caregiver.get("born")) and on >= birthday(day(caregiver["born"]), age)


def can_fill(places, people, fits, patient_alone, taken=()):
    """Try every way to give each place its own person."""
    if not places:
        return patient_alone or any(not p.get("is_patient") for p in taken)
    return any(
        fits(person, places[0])
        and can_fill(places[1:], [p for p in people if p is not person], fits, patient_alone, (*taken, person))
        for person in people
    )


def team_by(family, holds_set, on):
    """The name of the first alternative met on ``on``, or None."""
    rules = family.rules_on(on) or {}
    for alternative in rules.get("team") or []:
        places = [people for people in alternative["people"] for _ in range(people["count"])]

        def fits(person, place):
            members = rules["sets"][place["set"]]
            return holds_set(person, members, on) and old_enough(person, place.get("minimum_age"), on)

        if can_fill(places, family.case["caregivers"], fits, alternative.get("patient_alone", False)):
            return alternative["name"]
    return None


def item_in_date(family, item, on):
    valid = duration(item.get("valid_for"))
    done = [day(i["on"]) for i in family.items if i["item"] == item["code"] and day(i["on"]) <= on]
    return any(valid is None or on <= add(d, valid) for d in done)


def facts_asked(family, on):
    for skill in family.skills:
        edition = family.edition_on(skill, on) or {}
        yield from edition.get("applies_when") or {}
        for step in edition.get("steps") or []:
            yield from step.get("applies_when") or {}


def missing_codes(family, holds_set, on, facts):
    codes = [] if team_by(family, holds_set, on) is not None else ["team"]
    items = (family.rules_on(on) or {}).get("items") or []
    codes += [f"item:{item['code']}" for item in items if not item_in_date(family, item, on)]
    return codes + [f"fact:{name}" for name in sorted(set(facts_asked(family, on))) if name not in facts]


def verdict_of(family, codes, on):
    if not codes:
        return "ready"
    excepted = {x["missing"] for x in family.exceptions if covers(x, on)}
    return "ready_by_exception" if set(codes) <= excepted else "not_ready"
