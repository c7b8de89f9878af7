"""A few dozen invented families, each told as the demo's files tell theirs; `Story` makes the records of one."""

from __future__ import annotations

import random
from collections.abc import Iterator
from typing import Any

FACTS: dict[str, Any] = {
    "age_group": "child", "tube_id_mm": 4, "cuff": "none", "inner_cannula": "none", "suction": True, "catheter_fr": 7,
    "suction_depth_cm": 6, "humidification": "hme", "oxygen": False, "speaking_valve": False, "ventilator": False,
}  # fmt: skip
LARGER = {"tube_id_mm": 4.5, "catheter_fr": 8}
LATE_SKILLS = {"manual_ventilation": 9, "emergency_response": 9, "stay_24h": 9}
SHOWN_AGAIN = ("hand_hygiene", "equipment_check", "suction", "stoma_care", "tie_change", "tube_change")
PEOPLE = (("Ama", "mother", 34), ("Bo", "father", 37), ("Cleo", "grandmother", 61))
NAME, SITE = "@FAMILY@", "@SITE@"  # where the family's own are put


def stories(count: int, seed: int) -> Iterator[dict[str, Any]]:
    """So many families with three caregivers, between two months and fourteen in the file."""
    rng = random.Random(seed)  # noqa: S311 - nothing secret
    for _ in range(count):
        yield _story(rng)


def _story(rng: random.Random) -> dict[str, Any]:
    opened = -rng.randrange(60, 420)
    plan = [{"day": opened, "facts": dict(FACTS, oxygen=rng.random() < 0.3)}]
    if rng.random() < 0.3:
        plan.append({"day": -rng.randrange(3, 40), "facts": plan[0]["facts"] | LARGER})
    return {
        "name": NAME,
        "opened": opened,
        "patient": {"name": f"Ilse {NAME}", "called": "Ilse", "age": rng.uniform(1, 11)},
        "plan": plan,
        "items": _items(rng, opened),
        "not_authorised": ["tube_change"] if rng.random() < 0.1 else [],
        "caregivers": [_person(rng, opened, n) for n in range(len(PEOPLE))],
    }


def _items(rng: random.Random, opened: int) -> dict[str, list[int]]:
    kit = [*range(opened + 20, -30, 28), -rng.choice((1, 3, 5, 10, 35))]
    papers = [opened + 35, *range(opened + 160, -5, 120)]
    found = {"kit": kit, "equipment_trial": [opened + 25], "home": [opened + 30], "papers": papers}
    return {code: days for code, days in found.items() if rng.random() < 0.95}


def _person(rng: random.Random, opened: int, number: int) -> dict[str, Any]:
    called, relation, age = PEOPLE[number]
    sets = ["full"] if number < 2 else ["daytime"]
    began = opened + rng.randrange(1, 15)
    ended = min(began + rng.randrange(25, 60), -2)
    whole = rng.random() < 0.8
    again = list(range(ended + 80, -1, 90))
    shown_again = [*SHOWN_AGAIN[: 6 if number < 2 else 3], *(("manual_ventilation", "emergency_response") * whole)]
    return {
        "called": called,
        "name": f"{called} {NAME}",
        "relation": relation,
        "age": age,
        "sets": sets,
        "cards": {"cpr_card": [began, began + rng.choice((300, 700, 700))]},
        "course": {"from": began, "to": ended, "without": {} if whole else LATE_SKILLS},
        "passes": dict.fromkeys(shown_again, again),
        "shows": [{"skill": "suction", "day": began + 1, "results": {"s02": "prompted"}}] if rng.random() < 0.4 else [],
        "events": [{"kind": "hold", "day": -9, "through": rng.choice((-3, 5)), "skill": None, "reason": "away"}]
        if rng.random() < 0.1
        else [],
    }
