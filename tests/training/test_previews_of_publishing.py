"""Any history, any change of an edition, any policy: after publishing everybody stands where the preview said.

Histories and changes are drawn from a seed, so that a failure can be run again.
"""

from __future__ import annotations

import random
from datetime import date, timedelta

import pytest

from competency.fields import RefusedError
from tests.cast import ALL_ALONE, NOW, TODAY, authorise, plan, show, write
from tests.cast import at as instant
from tests.training.test_publishing import choice_of, outcomes, put_in_force, standings
from training.curriculum import drafting
from training.standing import publishing
from training.standing.affected import affected

SKILLS = ("hands", "suction", "tube_change", "emergency")


def some_history(draw, home):
    """A dozen attempts, some of them wrong, and now and then a change of the care plan, a hold or a withdrawal."""
    family = home.family
    people = list(family.caregivers.all())
    days = sorted(draw.sample(range(1, 70), 14))
    for ago in reversed(days):
        day = TODAY - timedelta(days=ago)
        who, skill = draw.choice(people), draw.choice(SKILLS)
        results = dict(ALL_ALONE[skill])
        if draw.random() < 0.2:
            results["s02"] = draw.choice(["prompted", "omitted"])
        if draw.random() < 0.8:
            show(home, who, skill, day, results=results)
        elif draw.random() < 0.5:
            plan(home, family, day, {"suction": True, "cuff": "none", "tube_id_mm": draw.choice([4, 5, 6])})
        else:
            until = (day + timedelta(days=draw.randint(1, 40))).isoformat()
            write(home.supervisor, family, "hold", instant(day), caregiver=who.case_id, skill=None,
                  on=day.isoformat(), through=until, reason="away")  # fmt: skip
    authorise(home, family, "emergency", TODAY)


def some_change(draw, edition):
    """The edition with one to three things changed."""
    changes = [
        lambda e: drafting.with_step(e, {"code": "s99", "text": "New", "critical": draw.random() < 0.5}),
        lambda e: {**e, "standard": {**e["standard"], "valid_for": draw.choice(["P1M", "P2Y"])}},
        lambda e: {**e, "standard": {**e["standard"], "needs": [{"passes": draw.randint(1, 3)}]}},
        lambda e: {**e, "needs_authorisation": not e.get("needs_authorisation", False)},
        lambda e: {**e, "requires": [{"skill": "hands"}]},
        lambda e: {**e, "applies_when": {"cuff": [draw.choice(["none", "air"])]}},
        lambda e: {**e, "on_change": {"tube_id_mm": draw.choice(["recheck", "restart", {"recheck_by": "P9D"}])}},
    ]
    for change in draw.sample(changes, draw.randint(1, 3)):
        edition = change(edition)
    return edition


@pytest.mark.parametrize("seed", range(24))
def test_the_preview_is_what_happens(cast, seed):
    draw, north = random.Random(seed), cast.north
    some_history(draw, north)
    first = TODAY + timedelta(days=draw.randint(1, 20))
    drafts = []
    for skill in draw.sample(SKILLS[1:], draw.randint(1, 2)):
        draft = drafting.begin_edition(north.programme, skill, by=north.educator, at=NOW)
        body = {**draft.body, "edition": some_change(draw, draft.body["edition"])}
        drafting.save(draft, body, version=1, by=north.educator, at=NOW)
        draft.refresh_from_db()
        drafts.append(draft)
    by = (first + timedelta(days=draw.randint(0, 100))).isoformat()
    choice = choice_of(*drafts, older=draw.choice(["stand", "recheck", {"recheck_by": by}]), first_day=first)
    proposal = publishing.proposal_of(north.programme, choice, NOW)
    shown = affected(proposal, north.educator)
    days = [TODAY, first, shown.later]
    before, judged = standings(north, days), outcomes(north)
    expected = previewed(before, shown)

    put_in_force(north, choice)

    assert standings(north, days) == expected
    assert outcomes(north) == judged


def previewed(before, shown):
    """What the preview says of each day: its changes put over how things stand."""
    expected = dict(before)
    for family in shown.families:
        key = family.family.pk
        for day, pair in ((shown.first, family.verdict_first), (shown.later, family.verdict_later)):
            assert expected[key, "verdict", day] == pair.without
            expected[key, "verdict", day] = pair.with_
        for m in family.moved:
            for day, pair in ((shown.first, m.first), (shown.later, m.later)):
                assert expected[key, m.caregiver.case_id, m.skill.code, day] == pair.without
                expected[key, m.caregiver.case_id, m.skill.code, day] = pair.with_
    return expected


def test_some_seeds_do_touch_somebody(cast):
    """The test above would prove nothing if no change ever touched anybody."""
    touched = 0
    draw = random.Random(1)
    some_history(draw, cast.north)
    for n, older in enumerate(["recheck", "stand"]):
        draft = drafting.begin_edition(cast.north.programme, "suction", by=cast.north.educator, at=NOW)
        choice = choice_of(draft, older=older, first_day=date(2026, 6, 1 + n))
        touched += len(
            affected(publishing.proposal_of(cast.north.programme, choice, NOW), cast.north.educator).families
        )
    assert touched >= 1


def test_what_is_refused_cannot_be_previewed(cast):
    north = cast.north
    draft = drafting.begin_edition(north.programme, "hands", by=north.educator, at=NOW)
    edition = {**draft.body["edition"], "requires": [{"skill": "tube_change"}]}
    drafting.save(draft, {**draft.body, "edition": edition}, version=1, by=north.educator, at=NOW)
    draft.refresh_from_db()

    with pytest.raises(RefusedError):
        affected(publishing.proposal_of(north.programme, choice_of(draft), NOW), north.educator)
