"""Generated hostile posts over every form: no error of the server, nothing of another's changed, no script runs."""

from __future__ import annotations

from typing import Any

import pytest
from django.apps import apps
from django.db.models import Count

from tests.access import asking
from tests.access.asking import body_of
from tests.access.hostile import IMAGE, PAYLOADS, Attacker
from tests.access.world import World
from training.people.models import Caregiver, Family
from training.records.models import Record

ANSWERS = ("offer-accept", "offer-decline")  # an offer's answer is written on both sides, as it should be


def of_the_agency(world: World) -> dict[str, Any]:
    """What may not change: the agency's rows, its records and their heads, whose the accounts are."""
    home = world.south.home.organisation
    rows = {m._meta.label: m.objects.filter(organisation=home).count() for m in apps.get_models() if _is_owned(m)}
    rows["heads"] = sorted(Record.objects.filter(organisation=home).values_list("chain", "number", "digest"))
    rows["people"] = list(Caregiver.objects.filter(family__organisation=home).order_by("pk").values())
    rows["families"] = list(Family.objects.filter(organisation=home).order_by("pk").values())
    rows["drafts"] = list(world.south.home.programme.drafts.values("pk", "version"))
    rows["members"] = list(home.members.values("pk", "role", "through", "user__is_active").annotate(n=Count("drafts")))
    return rows


def _is_owned(model: Any) -> bool:
    names = {f.name for f in model._meta.get_fields()}
    return model._meta.label.startswith(("people", "records", "curriculum", "handover")) and "organisation" in names


def runs(answer: Any) -> bool:
    """Whether a browser would run what was sent: it stands in a page as it was sent, unescaped."""
    if not answer.get("Content-Type", "").startswith("text/html"):
        return False
    page = body_of(answer).decode()
    return any(p in page for p in PAYLOADS[:4]) or IMAGE in page or 'href="javascript:' in page


def attack(world: World, posts: int, seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each post is made, looked at, and taken back; what it changed at the agency is asked before it is."""
    before, wrong, statuses = of_the_agency(world), [], {}
    changed: list[bool] = []
    monkeypatch.setattr(asking, "before_taking_back", lambda: changed.append(of_the_agency(world) != before))
    attacker = Attacker(world, seed)
    for number in range(posts):
        changed.clear()
        where, answer = attacker.post()
        statuses[answer.status_code] = statuses.get(answer.status_code, 0) + 1
        elsewhere = any(changed) and not where.endswith(ANSWERS)
        if answer.status_code >= 500 or elsewhere or runs(answer):
            wrong.append((number, where, answer.status_code, elsewhere, runs(answer)))
    print(f"access: {posts} hostile posts, seed {seed}: {dict(sorted(statuses.items()))}")  # noqa: T201

    assert wrong == []


@pytest.mark.parametrize("seed", range(4))
def test_a_hundred_hostile_posts(world: World, seed: int, monkeypatch: pytest.MonkeyPatch):
    attack(world, 100, seed, monkeypatch)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(100, 120))
def test_a_thousand_hostile_posts(world: World, seed: int, monkeypatch: pytest.MonkeyPatch):
    attack(world, 1000, seed, monkeypatch)


def test_some_posts_get_through(world: World):
    """Else nothing was tried: many posts are good enough to be answered with a page, and some to be done."""
    attacker = Attacker(world, 1)
    found = [attacker.post()[1].status_code for _ in range(150)]

    assert found.count(200) > 20
    assert found.count(302) > 5
